"""Pages about machines, without a browser."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tripmargin.machine.loading import demo_path
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Machine, MachineVersion

Client = Callable[..., Any]
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def dunlin(sqlite_records: str) -> Machine:
    return add_demo_machine("dunlin", who_name="Ann")


def whole_file() -> str:
    """Dunlin's file and its type sheet as one text, under another name."""
    machine = demo_path("dunlin").read_text(encoding="utf-8")
    sheet = demo_path("dunlin").with_name("type-trailed-mechanical.toml").read_bytes()
    add_to_records(sheet)
    return machine.replace('"Dunlin"', '"Heron"')


def add_to_records(sheet: bytes) -> None:
    from tripmargin.records.keeping.machines import add_type_sheet

    add_type_sheet(sheet, "type-trailed-mechanical.toml")


def upload(client: Any, content: bytes, name: str = "mine.toml", to: str = "/machines/add/") -> Any:
    return client.post(to, {"file": SimpleUploadedFile(name, content), "note": "typed note"})


def test_a_machine_comes_in_by_its_file_and_is_proved_at_once(browser_as: Client) -> None:
    client = browser_as(3)
    answer = upload(client, whole_file().encode())
    machine = Machine.objects.get(name="Heron")
    assert (answer.status_code, answer.headers["Location"]) == (302, f"/machines/{machine.uid}/")
    version = machine.versions.get()
    assert version.proof.verdict in ("protected", "doubtful", "not protected")
    assert version.text == whole_file()
    assert b"Heron" in client.get("/").content


def archive() -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as zipped:
        zipped.writestr("machine.toml", b"0" * 50_000_000)
    return made.getvalue()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "not a text file"),
        (archive(), "not a text file"),
        (b"name = ", "not TOML"),
        (b"[machine]\nname = 'A'\n[feed]\nknives = '3,5'\n", "a comma inside a number"),
        (b"[machine]\nname = '<script>alert(1)</script>'\n[feed]\nx = 1\n", "unknown"),
        (b"extends = '../../../etc/passwd'\n", "no type sheet of this name"),
        (b"extends = '/etc/passwd'\n", "no type sheet of this name"),
        ("[machine]\nname = '🚜'\n[chain]\nsupply = '🚜'\n".encode(), "not a number"),
        (b"x" * 1_000_001, "Too large"),
        (b'[machine]\nname = "A\\u0000B"\n', "zero character"),
    ],
)
def test_a_file_that_is_none_is_refused_with_its_reason(
    browser_as: Client, content: bytes, said: str
) -> None:
    answer = upload(browser_as(3), content, "../../x.toml")
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text
    assert "typed note" in text
    assert "<script>alert" not in text
    assert not Machine.objects.exists()


def test_what_was_pasted_stays_when_it_is_wrong(browser_as: Client) -> None:
    answer = browser_as(3).post("/machines/add/", {"text": "[machine]\nnam = 'Heron'\n"})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "nam = &#x27;Heron&#x27;" in text
    assert "Did you mean" in text


def test_a_name_that_is_taken_is_said(browser_as: Client, dunlin: Machine) -> None:
    text = whole_file().replace('"Heron"', '"Dunlin"')
    answer = browser_as(3).post("/machines/add/", {"text": text})
    assert answer.status_code == 422
    assert "in the records already" in answer.content.decode()


def test_every_version_is_kept_and_two_are_compared(browser_as: Client, dunlin: Machine) -> None:
    client, first = browser_as(3), dunlin.versions.get()
    changed = first.text.replace("[machine]", "[limits]\nmust_stop = '25 mm ball'\n\n[machine]", 1)
    assert upload(client, changed.encode(), to=f"/machines/{dunlin.uid}/file/").status_code == 302
    again = upload(client, changed.encode(), to=f"/machines/{dunlin.uid}/file/")
    assert again.status_code == 302
    assert dunlin.versions.count() == 2
    got = client.get(f"/machines/{dunlin.uid}/file/1/")
    assert got.content.decode() == first.text
    assert "attachment" in got.headers["Content-Disposition"]
    compared = client.get(f"/machines/{dunlin.uid}/compare/?before=1&after=2").content.decode()
    assert "limits.must_stop" in compared
    assert "25 mm ball" in compared
    for wrong in ("before=1&after=9", "before=x&after=2", "", "before=1&after=99999999999"):
        assert client.get(f"/machines/{dunlin.uid}/compare/?{wrong}").status_code == 404


def test_the_file_of_another_machine_is_no_version(browser_as: Client, dunlin: Machine) -> None:
    answer = upload(browser_as(3), whole_file().encode(), to=f"/machines/{dunlin.uid}/file/")
    assert answer.status_code == 422
    assert "called &quot;Heron&quot;, not &quot;Dunlin&quot;" in answer.content.decode()


def test_a_new_type_sheet_is_taken_over_machine_by_machine(
    browser_as: Client, dunlin: Machine
) -> None:
    client = browser_as(3)
    sheet = demo_path("dunlin").with_name("type-trailed-mechanical.toml").read_bytes()
    changed = sheet + b"\n# read again\n"
    upload(client, changed, "type-trailed-mechanical.toml", to="/type-sheets/")
    assert dunlin.versions.count() == 1
    assert client.get("/type-sheets/type-trailed-mechanical.toml/").content == changed
    assert client.post(f"/machines/{dunlin.uid}/take-sheet/").status_code == 302
    page = client.get("/type-sheets/").content.decode()
    assert "Version 2" in page
    assert "Dunlin" in page


@pytest.mark.parametrize(
    "query",
    [
        "", "cut=9", "cut=9.0&chain.supply=12.5", "suppression=zener+24+V", "piece=M12x40+bolt",
        "chain.pawls.lower.clearance=6",
    ],
)  # fmt: skip
def test_the_map_turns_with_the_settings(browser_as: Client, dunlin: Machine, query: str) -> None:
    answer = browser_as(1).get(f"/machines/{dunlin.uid}/turned/?{query}", **HTMX)
    text = answer.content.decode()
    assert answer.status_code == 200
    assert text.count("<svg") == 2
    assert "Margin" in text
    assert 'id="race"' in text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("cut=9,5", "comma"),
        ("cut=1e9", "allowed"),
        ("cut=-4", "allowed"),
        ("cut=nan", "allowed"),
        ("cut=9+kg", "unit"),
        ("chain.supply=%F0%9F%9A%9C", "number"),
        ("suppression=magic", "not one of"),
        ("piece=%3Cscript%3E", "&lt;script&gt;"),
        ("piece=" + "9" * 500, "too long"),
    ],
)
def test_a_setting_that_cannot_be_is_said_and_the_map_stays(
    browser_as: Client, dunlin: Machine, query: str, said: str
) -> None:
    answer = browser_as(1).get(f"/machines/{dunlin.uid}/turned/?{query}", **HTMX)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text.lower()
    assert "<script" not in text
    assert text.count("<svg") == 2


def test_turning_a_setting_keeps_the_tolerance_of_the_file(dunlin: Machine) -> None:
    from tripmargin.records.keeping.machines import machine_of
    from tripmargin.web.machines.turns import turns_of

    loaded = machine_of(dunlin.versions.get())
    name = f"chain.pawls.{loaded.chain.pawls[0].name}.clearance"
    before = loaded.get(name)
    turned = loaded.with_settings(turns_of(loaded, {name: "6"}, us=False).settings(loaded))
    after = turned.get(name)
    assert after.nominal == pytest.approx(0.006)
    assert after.high - after.low == pytest.approx(before.high - before.low)
    assert turns_of(loaded, {name: f"{before.nominal * 1e3:g}"}, us=False).settings(loaded) == {}


def test_the_numbers_are_those_of_the_proof(browser_as: Client, dunlin: Machine) -> None:
    # The page's verdict against `prove` on the same machine: the main job, checked elsewhere.
    import tripmargin
    from tripmargin.ground.units import percent

    loaded = tripmargin.load_machine("dunlin")
    cut = max(loaded.feed.cut_lengths)
    proved = next(c for c in tripmargin.prove(loaded).cuts if c.cut_length == cut)
    text = browser_as(1).get(f"/machines/{dunlin.uid}/turned/", **HTMX).content.decode()
    assert proved.verdict.capitalize() in text
    assert percent(proved.protected) in text


def test_reasons_reach_and_feed_path_are_shown_with_their_tables(
    browser_as: Client, dunlin: Machine
) -> None:
    client = browser_as(1)
    assert not hasattr(dunlin.versions.get(), "proof")
    for part, said in (
        ("because", "Measure next"), ("reach", "not seen at all"), ("feed", "Show it still"),
        ("feed", "<table"), ("reach", "<table"), ("because", "Engine off"),
    ):  # fmt: skip
        answer = client.get(f"/machines/{dunlin.uid}/{part}/", **HTMX)
        assert answer.status_code == 200
        assert said in answer.content.decode(), part
    # Proved as its file has it: kept for the list. A what-if is not.
    assert dunlin.versions.get().proof.verdict == "doubtful"  # as `tripmargin prove dunlin` says
    whole = client.get(f"/machines/{dunlin.uid}/reach/").content.decode()
    assert "<!doctype html>" in whole


def test_a_machine_that_says_little_is_not_known_and_says_what_is_missing(
    browser_as: Client,
) -> None:
    client = browser_as(3)
    client.post("/machines/add/", {"text": "[machine]\nname = 'Bare'\n"})
    uid = Machine.objects.get(name="Bare").uid
    for part in ("", "turned/", "because/", "reach/", "feed/"):
        answer = client.get(f"/machines/{uid}/{part}", **HTMX)
        assert answer.status_code == 200, part
    text = client.get(f"/machines/{uid}/turned/", **HTMX).content.decode()
    assert "Not known" in text


def test_the_list_needs_the_same_few_queries_however_many_machines(
    browser_as: Client, dunlin: Machine
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client = browser_as(1)

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            client.get("/")
        return len(seen)

    few = queries()
    for number in range(12):
        upload(browser_as(3), f"[machine]\nname = 'M{number}'\n".encode())
    assert MachineVersion.objects.count() == 13
    assert queries() == few


def test_put_away_and_brought_back(browser_as: Client, dunlin: Machine) -> None:
    client = browser_as(4)
    client.post(f"/machines/{dunlin.uid}/put-away/")
    assert b">Dunlin<" not in client.get("/").content
    assert b">Dunlin<" in client.get("/machines/away/").content
    client.post(f"/machines/{dunlin.uid}/put-away/")
    assert b">Dunlin<" in client.get("/").content


def test_a_file_called_as_its_type_sheet_does_not_take_its_place(
    browser_as: Client, dunlin: Machine
) -> None:
    answer = upload(browser_as(3), whole_file().encode(), "type-trailed-mechanical.toml")
    assert answer.status_code == 302
    assert Machine.objects.filter(name="Heron").exists()


def test_what_was_turned_stays_turned_when_it_is_sent_without_a_script(
    browser_as: Client, dunlin: Machine
) -> None:
    client, page = browser_as(1), f"/machines/{dunlin.uid}/"
    query = "chain.pawls.lower.clearance=9&chain.pawls.upper.clearance=9&suppression=diode+0.8+V"
    client.get(f"{page}turned/", **HTMX)  # the file's own is drawn, and remembered
    by_file = client.get(page).content.decode()
    shown = client.get(f"{page}?{query}").content.decode()
    live = client.get(f"{page}turned/?{query}", **HTMX).content.decode()
    margin = re.search(r"<span>Margin ([^<]+)</span>", live)
    assert margin is not None
    assert margin[0] in shown
    assert margin[0] not in by_file
    assert "What if:" in shown
    assert "By its file:" in by_file


def test_a_few_maps_are_worked_out_at_once_and_the_rest_is_told_to_wait(
    browser_as: Client, dunlin: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tripmargin.web.machines import working

    client = browser_as(1)
    monkeypatch.setattr(working, "PATIENCE", 0.01)
    for _ in range(working.AT_ONCE):
        assert working._room.acquire(blocking=False)
    try:
        answer = client.get(f"/machines/{dunlin.uid}/turned/", **HTMX)
        assert (answer.status_code, answer.headers["Retry-After"]) == (503, "20")
        assert client.get("/").status_code == 200
    finally:
        for _ in range(working.AT_ONCE):
            working._room.release()
    assert client.get(f"/machines/{dunlin.uid}/turned/", **HTMX).status_code == 200


def test_the_reasons_of_the_file_as_it_is_are_worked_out_once(
    browser_as: Client, dunlin: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tripmargin.web.machines import protection

    client, path = browser_as(1), f"/machines/{dunlin.uid}/because/"
    first = client.get(path, **HTMX).content
    monkeypatch.delattr(protection, "prove")
    assert client.get(path, **HTMX).content == first
