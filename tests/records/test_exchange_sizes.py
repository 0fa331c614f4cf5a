"""An import is held to what an upload or a form takes: each value, not the total."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.records.large import DEEP_KEY, PAWLS, SMALL_OWL, copy_with, nested
from tests.records.machines import add_small_machines
from tripmargin.machine import copy_of, load_machine, machine_from_copy
from tripmargin.machine.loading import demo_path
from tripmargin.records.exchange.exporting import export_file
from tripmargin.records.exchange.importing import import_file
from tripmargin.records.exchange.restoring import counts
from tripmargin.records.exchange.troubles import ImportRefusedError
from tripmargin.records.home import RecordsError
from tripmargin.records.keeping.copy_sizes import copy_troubles
from tripmargin.records.keeping.entries import NewEntry
from tripmargin.records.keeping.photos import read_photo, write_entry_with_photos
from tripmargin.records.keeping.sizes import LONGEST_KEY
from tripmargin.records.store.models import Entry, Machine, Photo


@pytest.fixture
def yard(sqlite_records: str, tmp_path: Path) -> dict[str, Any]:
    """An export of two small machines, to be changed and imported into the same records."""
    add_small_machines()
    export_file(tmp_path / "yard.json")
    made: dict[str, Any] = json.loads((tmp_path / "yard.json").read_text())
    return made


def refused(folder: Path, given: dict[str, Any]) -> str:
    before = counts()
    path = folder / "changed.json"
    path.write_text(json.dumps(given))
    with pytest.raises(ImportRefusedError) as caught:
        import_file(path)
    assert counts() == before
    return str(caught.value)


def with_machine(yard: dict[str, Any], copy: dict[str, Any], **more: Any) -> dict[str, Any]:
    """The export with one more machine in it, and nothing else."""
    version = {"number": 1, "file_name": "owl.toml", "text": "", "copy": copy,
               "digest": copy["digest"]}  # fmt: skip
    uid = "6f1a2b3c-0000-4000-8000-00000000a001"
    machine = {"uid": uid, "name": "Owl", "versions": [version | more]}
    return yard | {"machines": [machine]}


COPIES: dict[str, tuple[Callable[[], dict[str, Any]], str]] = {
    "pawls": (lambda: copy_with(SMALL_OWL + PAWLS), 'chain.pawls: too many'),
    "a long text": (
        lambda: copy_with(f"{SMALL_OWL}\n[notes]\nlong = '{'x' * 1001}'"),
        "1001 letters",
    ),
    "a key that takes long to read": (lambda: copy_with(f"{DEEP_KEY} = 1"), "more than 30 parts"),
    "a large text": (lambda: copy_with(SMALL_OWL + "#" * 1_000_001), "owl.toml: too large"),
    "many sheets": (
        lambda: copy_with(SMALL_OWL) | {"sheets": copy_with(SMALL_OWL)["sheets"] * 9},
        "sheets: too many",
    ),
    "something more": (lambda: copy_with(SMALL_OWL) | {"more": "x" * 10**6}, "no such name"),
    "a file of the server": (
        lambda: copy_with(SMALL_OWL) | {"file": "../records.sqlite3"}, "not the name of a file"),
    "a sheet of the server": (
        lambda: copy_with(SMALL_OWL) | {"sheets": [{"name": "/etc/x.toml", "text": SMALL_OWL}]},
        "not the name of a file"),
    "many settings": (
        lambda: copy_with(SMALL_OWL) | {"settings": {f"a.b{k}": k for k in range(2001)}},
        "more settings"),
    "odd settings": (
        lambda: copy_with(SMALL_OWL) | {"settings": {"feed": None, "x": 3}, "changed": ["feed.y"]},
        "no machine can be read"),
    "settings of another kind": (
        lambda: copy_with(SMALL_OWL) | {"settings": {"machine.name": []}, "changed": [["x"]]},
        "no machine can be read"),
}  # fmt: skip


@pytest.mark.parametrize("what", COPIES)
def test_a_machine_that_no_upload_would_bring_is_refused(
    what: str, yard: dict[str, Any], tmp_path: Path
) -> None:
    make, said = COPIES[what]
    assert said in refused(tmp_path, with_machine(yard, make()))


def test_the_machine_itself_is_taken_and_so_are_all_demo_machines(
    yard: dict[str, Any], tmp_path: Path
) -> None:
    (tmp_path / "good.json").write_text(json.dumps(with_machine(yard, copy_with(SMALL_OWL))))
    assert import_file(tmp_path / "good.json").machines == 1
    for name in ("dunlin", "curlew", "whimbrel", "sanderling"):
        changed = load_machine(name).with_settings({"limits.stop_time": 0.06})
        assert copy_troubles(copy_of(changed)) == []
        assert machine_from_copy(copy_of(changed)) == changed


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"file_name": "x" * 101}, "at most 100 letters"),
        ({"text": "x" * 1_000_001}, "at most 1000000 letters"),
        ({"note": "x" * 501}, "at most 500 letters"),
        ({"added_by": "x" * 61}, "at most 60 letters"),
    ],
)
def test_a_version_is_no_longer_than_a_forms(
    more: dict[str, Any], said: str, yard: dict[str, Any], tmp_path: Path
) -> None:
    assert said in refused(tmp_path, with_machine(yard, copy_with(SMALL_OWL), **more))


@pytest.mark.parametrize(
    ("end", "said"),
    [
        (PAWLS, "chain.pawls: too many"),
        (f"[x]\ny = '{'x' * 1001}'\n", "1001 letters"),
        (f"{DEEP_KEY} = 1\n", "more than 30 parts"),
    ],
)
def test_a_type_sheet_that_no_upload_would_bring_is_refused(
    end: str, said: str, yard: dict[str, Any], tmp_path: Path
) -> None:
    import hashlib

    text = demo_path("dunlin").with_name("type-trailed-mechanical.toml").read_text()
    for added, good in (("", True), (end, False)):
        digest = hashlib.sha256((text + added).encode()).hexdigest()
        version = {"number": 1, "text": text + added, "digest": digest}
        given = yard | {"type_sheets": [{"name": "mine.toml", "versions": [version]}]}
        if good:
            (tmp_path / "good.json").write_text(json.dumps(given))
            assert import_file(tmp_path / "good.json", check_only=True).sheets == 1
        else:
            assert said in refused(tmp_path, given)


def entry(**more: Any) -> dict[str, Any]:
    return {"machine": "Knot", "kind": "note", "at": "2026-03-01T07:30Z",
            "values": {"text": "x"}} | more  # fmt: skip


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"note": "x" * 2001}, "at most 2000 letters"),
        ({"values": {"text": "x" * 2001}}, "at most 2000 letters"),
        ({"values": {f"lamps/{k}": True for k in range(201)}}, "too many values"),
        ({"kind": "daily check", "values": {"tripped": True, "lamps/" + "x" * LONGEST_KEY: True}},
         "too long a name"),
        ({"values": {"text": nested(20)}}, "not such a value"),
        ({"values": {"text": nested(40)}}, "nested too deeply"),
        ({"values": {"text": nested(900)}}, "nested too deeply"),
        ({"who": "x" * 61}, "at most 60 letters"),
        ({"photos": [{}] * 7}, "a list of at most 6"),
    ],
    ids=["note", "text", "values", "key", "a list", "deep", "deeper", "who", "photos"],
)  # fmt: skip
def test_an_entry_is_no_larger_than_a_forms(
    more: dict[str, Any], said: str, yard: dict[str, Any], tmp_path: Path
) -> None:
    assert said in refused(tmp_path, yard | {"entries": [entry(**more)]})


@pytest.mark.parametrize("number", ["1e400", "-1e400", "9" * 400])
def test_a_number_that_no_column_holds_is_refused(
    number: str, yard: dict[str, Any], tmp_path: Path
) -> None:
    one = entry(kind="hours", values={"hours_s": 12345.5})
    path = tmp_path / "x.json"
    path.write_text(json.dumps(yard | {"entries": [one]}).replace("12345.5", number))
    with pytest.raises(ImportRefusedError, match="too large a number"):
        import_file(path)
    assert not Entry.objects.exists()


def test_a_column_of_a_name_without_end_is_refused(yard: dict[str, Any], tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text(f"machine,kind,at,lamps/{'x' * LONGEST_KEY}\n")
    with pytest.raises(ImportRefusedError, match="too long a name") as caught:
        import_file(path)
    assert len(str(caught.value)) < 1000


def picture(place: int) -> bytes:
    made = BytesIO()
    Image.new("RGB", (40, 30), (place, 0, 0)).save(made, "PNG")
    return made.getvalue()


def photo(place: int) -> dict[str, Any]:
    return {"uid": f"6f1a2b3c-0000-4000-8000-{place:012}", "added_at": "2026-03-01T07:30Z",
            "content": base64.b64encode(picture(place)).decode()}  # fmt: skip


def test_an_entry_gets_no_more_photos_than_a_form_gives_it(
    yard: dict[str, Any], tmp_path: Path
) -> None:
    knot = Machine.objects.get(name="Knot")
    new = NewEntry(kind="note", values={"text": "x"})
    there = write_entry_with_photos(knot, new, [read_photo(picture(k)) for k in range(4)]).entry
    one = entry(uid=str(there.uid), at=there.at.isoformat())
    for places, good in ((range(2, 6), True), (range(4, 8), False)):
        given = yard | {"entries": [one | {"photos": [photo(place) for place in places]}]}
        (tmp_path / "x.json").write_text(json.dumps(given))
        if good:
            assert import_file(tmp_path / "x.json").photos == 2
        else:
            assert "the entry has 6 of others already" in refused(tmp_path, given)
    assert Photo.objects.count() == 6
    # The same entry several times, each time with others.
    twice = [entry(photos=[photo(10 + k + n) for k in range(4)]) for n in (0, 4)]
    (tmp_path / "x.json").write_text(json.dumps(yard | {"entries": twice}))
    with pytest.raises(RecordsError, match="more than 6 photos"):
        import_file(tmp_path / "x.json")
    assert Photo.objects.count() == 6


def test_a_machine_that_is_not_there_is_told_once_and_the_rest_too(
    yard: dict[str, Any], tmp_path: Path
) -> None:
    rows = [*[entry(machine="Gnat")] * 200, entry(at="x"), entry(machine="Owl")]
    (tmp_path / "x.json").write_text(json.dumps(yard | {"entries": rows}))
    with pytest.raises(ImportRefusedError) as caught:
        import_file(tmp_path / "x.json")
    assert caught.value.unknown == {"Gnat": 200, "Owl": 1}
    assert [one.field for one in caught.value.problems] == ["machine", "at", "machine"]
    assert 'The machine "Gnat" stands in 200 entries.' in str(caught.value)
