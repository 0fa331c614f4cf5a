"""JSON files: machines, type sheets, photos; read item by item, or told what is wrong with them."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from PIL import Image

from tests.databases import using_database
from tests.records.machines import add_small_machines
from tripmargin.records.exchange import json_stream
from tripmargin.records.exchange.exporting import export_file
from tripmargin.records.exchange.importing import import_file
from tripmargin.records.exchange.json_stream import JsonFile
from tripmargin.records.exchange.troubles import ImportRefusedError, Troubles
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.keeping.photos import read_photo, write_entry_with_photos
from tripmargin.records.store.models import (
    Entry,
    Machine,
    MachineVersion,
    Person,
    Photo,
    TypeSheet,
)

Fresh = Callable[[], Any]


@pytest.fixture
def fresh(sqlite_records: str, sqlite_with_tables: Path, tmp_path: Path) -> Fresh:
    """Turn to records with nothing in them, for a while."""

    def turned() -> Any:
        path = tmp_path / f"{uuid4().hex}.sqlite3"
        path.write_bytes(sqlite_with_tables.read_bytes())
        return using_database(f"sqlite:///{path}")

    return turned


@pytest.fixture
def whole(sqlite_records: str, tmp_path: Path) -> Path:
    """An export with a demo machine, its type sheet, a photo and a person."""
    Person.objects.create_user("Ann", "a-long-enough-one", role=4)
    add_demo_machine("whimbrel", who_name="Ann")
    add_small_machines()
    machine = Machine.objects.get(name="Knot")
    picture = BytesIO()
    Image.new("RGB", (40, 30), "white").save(picture, "PNG")
    write_entry_with_photos(
        machine,
        NewEntry(kind="note", values={"text": "see the photo"}),
        [read_photo(picture.getvalue())],
        who_name="Ann",
    )
    path = tmp_path / "yard.json"
    export_file(path, photos=True)
    return path


def test_machines_sheets_and_photos_come_along_and_no_password_does(
    whole: Path, fresh: Fresh, tmp_path: Path
) -> None:
    content = whole.read_bytes()
    assert b"pbkdf2" not in content
    assert Person.objects.get().password.encode() not in content
    with fresh():
        found = import_file(whole)
        assert (found.new, found.machines, found.sheets, found.photos) == (1, 3, 1, 1)
        assert found.versions == 4  # three of machines, one of the sheet
        again = import_file(whole)
        assert (again.new, again.there, again.versions, again.photos) == (0, 1, 0, 0)
        export_file(tmp_path / "after.json", photos=True)
        assert (tmp_path / "after.json").read_bytes() == content
        assert not Person.objects.exists()
        assert Photo.objects.get().content_type == "image/png"


def test_the_same_json_in_other_lines_and_another_order_is_the_same(
    whole: Path, fresh: Fresh
) -> None:
    given = json.loads(whole.read_text())
    for indent in (None, 3):
        whole.write_text(json.dumps(given, sort_keys=True, indent=indent))  # entries come first
        with fresh():
            assert import_file(whole).new == 1


def test_a_new_version_of_a_machine_that_is_there_is_added(whole: Path, fresh: Fresh) -> None:
    first = json.loads(whole.read_text())
    with fresh():
        import_file(whole)
        newer = json.loads(json.dumps(first))
        version = newer["machines"][0]["versions"][0]
        newer["machines"][0]["versions"].append(version | {"number": 2})
        whole.write_text(json.dumps(newer))
        assert import_file(whole).versions == 1
        whole.write_text(json.dumps(first))
        assert import_file(whole).versions == 0
        assert MachineVersion.objects.count() == 4


def changed(where: str, value: Any) -> Callable[[dict[str, Any]], None]:
    """Set what a dotted path names: machines.0.versions.0.number."""
    *way, last = [int(part) if part.isdigit() else part for part in where.split(".")]

    def change(given: dict[str, Any]) -> None:
        at: Any = given
        for part in way:
            at = at[part]
        if value is ...:
            del at[last]
        else:
            at[last] = value

    return change


@pytest.mark.parametrize(
    ("where", "value", "said"),
    [
        ("tripmargin", "case", "not the records"),
        ("format", 2, "newer version"),
        ("format", "1", "no such format"),
        ("format", ..., "not the records"),
        ("more", [1], "no such name at the top"),
        ("entries", {}, "entries: not a list"),
        ("entries.0", [], "not an object"),
        ("entries.0.uid", "x", "not an id"),
        ("entries.0.machine", 3, "machine = "),
        ("entries.0.machine", "Gnat", "no such machine"),
        ("entries.0.at", "2026-03-01T07:30", "no time zone"),
        ("entries.0.at", None, "at: needed"),
        ("entries.0.vlaues", {}, 'Did you mean "values"'),
        ("entries.0.values", [], "not an object"),
        ("entries.0.values", {"text": "a\ud800"}, "half of a letter"),
        ("entries.0.values", {"text": 3}, "not such a value"),
        ("entries.0.values", {"x" * 1100: 3}, "too long a name"),
        ("entries.0.note", "a\0", "zero byte"),
        ("entries.0.version", 9, "no such version"),
        ("entries.0.version", True, "not such a number"),
        ("entries.0.clock_ahead_s", 1e300, "not such a number"),
        ("entries.0.photos.0.content", "!", "not base64"),
        ("entries.0.photos.0.content", base64.b64encode(b"<script>").decode(), "not a photo"),
        ("entries.0.photos.0.uid", ..., "photos[0].uid: needed"),
        ("machines.0.uid", "6f1a2b3c-0000-4000-8000-00000000a001", "another machine of this name"),
        ("machines.0.versions", [], "versions: needed"),
        ("machines.0.versions.0.number", 2, "a version before it is missing"),
        ("machines.0.versions.0.digest", "0" * 64, "not that of the copy"),
        ("machines.0.versions.0.copy", {}, "no machine can be read"),
        ("machines.1.name", "Whimbrel", "there twice"),
        ("type_sheets.0.versions.0.text", "x", "not that of the text"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_written(
    where: str, value: Any, said: str, whole: Path, fresh: Fresh
) -> None:
    given = json.loads(whole.read_text())
    changed(where, value)(given)
    whole.write_text(json.dumps(given, indent=1))
    with fresh():
        if "another machine" in said:
            add_demo_machine("whimbrel")
        before = Machine.objects.count()
        with pytest.raises(ImportRefusedError) as caught:
            import_file(whole)
        assert said in str(caught.value)
        assert (Entry.objects.count(), Machine.objects.count()) == (0, before)
        assert bool(before) or not TypeSheet.objects.exists()


def test_another_version_under_the_same_number_is_told(whole: Path, fresh: Fresh) -> None:
    with fresh():
        import_file(whole)
        given = json.loads(whole.read_text())
        knot, tern = given["machines"][1]["versions"], given["machines"][2]["versions"]
        knot[0] = tern[0]
        whole.write_text(json.dumps(given))
        with pytest.raises(ImportRefusedError, match="version 1 is another one here"):
            import_file(whole)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("", 1, "the end of the file"),
        ("[]", 1, 'not JSON: "[" where { should stand'),
        ('{"a": 1,\n}', 2, "no name in quotation marks"),
        ('{"a": [1,\n2', 2, "the end of the file"),
        ('{"a": [1\n 2]}', 2, '"2" where , or ] should stand'),
        ('{"a": [{"b": 1, "b": 2}]}', 1, '"b" is there twice'),
        ('{"a": 1, "a": 2}', 1, '"a" is there twice'),
        ('{"a": NaN}', 1, "NaN is no number"),
        ('{"a": "x\n"}', 1, "invalid control character"),
        ('{"a": "x', 1, "unterminated string"),
        ('{"a": 1} x', 1, "more text after the end"),
        ('{"a": ' + "[" * 100_000, 1, "nested too deeply"),
        ('{"a": ' + "9" * 5000 + "}", 1, "not JSON"),
    ],
)
def test_what_is_no_json_is_told_with_its_line(
    text: str, line: int, said: str, tmp_path: Path
) -> None:
    path = tmp_path / "x.json"
    path.write_text(text)
    with pytest.raises(ImportRefusedError) as caught:
        list(JsonFile(path, Troubles("x.json")).items())
    assert said in str(caught.value)
    assert caught.value.problems[0].line == line


def test_another_encoding_of_json_is_told(tmp_path: Path) -> None:
    path = tmp_path / "x.json"
    path.write_bytes(b'{"a":\n "\xe9"}')
    with pytest.raises(ImportRefusedError, match=r"x.json:2: not UTF-8: byte 0xE9"):
        list(JsonFile(path, Troubles("x.json")).items())


@pytest.mark.parametrize("chunk", [1, 2, 3, 7, 64])
def test_items_are_whole_wherever_the_reading_is_cut(
    chunk: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(json_stream, "CHUNK", chunk)
    given = {"n": 12345, "a": [1, -2.5e10, 'ä\\"\n€😀', {"k": [True, None]}], "e": [], "z": {}}
    path = tmp_path / "x.json"
    path.write_text(json.dumps(given, ensure_ascii=False, indent=2), encoding="utf-8")
    made: dict[str, Any] = {"e": []}
    lines = []
    for found in JsonFile(path, Troubles("x.json")).items():
        lines.append(found.line)
        if found.in_list:
            made.setdefault(found.key, []).append(found.item)
        else:
            made[found.key] = found.item
    assert made == given
    assert lines == [2, 4, 5, 6, 7, 15]


def test_an_item_without_end_is_refused_before_it_fills_the_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(json_stream, "LONGEST_ITEM", 1000)
    monkeypatch.setattr(json_stream, "CHUNK", 100)
    path = tmp_path / "x.json"
    path.write_text('{"a": ["' + "x" * 100_000)
    with pytest.raises(ImportRefusedError, match="an item of more than"):
        list(JsonFile(path, Troubles("x.json")).items())


def test_photos_that_are_missing_are_added_to_an_entry_that_is_there(
    whole: Path, fresh: Fresh
) -> None:
    text = whole.read_text()
    given = json.loads(text)
    photos = given["entries"][0].pop("photos")
    with fresh():
        whole.write_text(json.dumps(given))
        assert import_file(whole).photos == 0
        given["entries"][0]["photos"] = photos
        whole.write_text(json.dumps(given))
        found = import_file(whole)
        assert (found.new, found.there, found.photos) == (0, 1, 1)


def test_entries_alone_go_to_the_machines_of_their_names(
    sqlite_records: str, tmp_path: Path
) -> None:
    add_small_machines()
    entry = {"machine": "knot", "kind": "note", "at": "2026-03-01T07:30Z", "values": {"text": "x"}}
    path = tmp_path / "x.json"
    path.write_text(json.dumps({"tripmargin": "records", "format": 1, "entries": [entry]}))
    assert import_file(path).new == 1
    assert import_file(path).there == 1
    machine = Machine.objects.get(name="Knot")
    assert write_entry(machine, NewEntry(kind="note", values={"text": "x"})).new
