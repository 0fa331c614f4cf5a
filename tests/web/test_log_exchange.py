"""A file of entries in the browser: looked into, and brought in."""

from __future__ import annotations

import hashlib
import io
import json
import re
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests.records.machines import add_small_machines
from tripmargin.records.keeping import sizes
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.store.models import AuditLine, Entry, Machine

Client = Callable[..., Any]
HTMX = {"HTTP_HX_REQUEST": "true"}
PAGE = "/log/exchange/"
HEAD = "machine,kind,at,text\n"
GOOD = HEAD + "Knot,note,2026-03-01T07:30Z,one\nKnot,note,2026-03-02T07:30Z,two\n"


@pytest.fixture(autouse=True)
def knot(sqlite_records: str) -> Machine:
    add_small_machines()
    return Machine.objects.get(name="Knot")


def said(answer: Any) -> str:
    """What a page says, its tags taken out, entities read."""
    import html

    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", answer.content.decode())).split())


def sent(client: Any, content: bytes | str, name: str = "log.csv", **more: Any) -> Any:
    do, htmx = more.pop("do", "look"), HTMX if more.pop("htmx", False) else {}
    data = content.encode() if isinstance(content, str) else content
    file = SimpleUploadedFile(name, data)
    return client.post(PAGE, {"file": file, "do": do, **more}, **htmx)


def seen_in(answer: Any) -> str:
    return re.findall(r'name="seen" value="([0-9a-f]{64})"', answer.content.decode())[0]


@pytest.mark.parametrize("htmx", [False, True])
def test_a_look_says_what_would_come_and_stores_nothing(browser_as: Client, htmx: bool) -> None:
    knot = Machine.objects.get(name="Knot")
    client = browser_as(4)
    sent_first = GOOD.splitlines(keepends=True)
    bring(client, "".join(sent_first[:2]))
    before = Entry.objects.count(), AuditLine.objects.count()
    answer = sent(client, GOOD, htmx=htmx)
    assert answer.status_code == 200
    words = said(answer)
    assert "Knot 1 1" in words  # new, here already
    assert "Nothing is stored yet" in words
    assert seen_in(answer) == hashlib.sha256(GOOD.encode()).hexdigest()
    assert (Entry.objects.count(), AuditLine.objects.count()) == before
    assert knot.entries.count() == 1
    # Without a script the box is empty again; with one the file is still in it.
    assert ("Choose the same file once more" in words) == (not htmx)
    assert ("<h1" in answer.content.decode()) == (not htmx)


def bring(client: Any, content: bytes | str, name: str = "log.csv", **more: Any) -> Any:
    looked = sent(client, content, name)
    assert looked.status_code == 200, said(looked)
    return sent(client, content, name, do="bring", seen=seen_in(looked), **more)


@pytest.mark.parametrize("htmx", [False, True])
def test_what_was_looked_at_is_brought_in_and_the_audit_says_who(
    browser_as: Client, htmx: bool
) -> None:
    client = browser_as(4, name="Ann")
    answer = bring(client, GOOD, htmx=htmx)
    if htmx:
        assert (answer.status_code, answer.headers["HX-Redirect"]) == (204, PAGE)
    else:
        assert (answer.status_code, answer.headers["Location"]) == (302, PAGE)
    assert "log.csv is in: 2 new entries." in said(client.get(PAGE))
    assert [entry.source for entry in Entry.objects.all()] == ["import", "import"]
    line = AuditLine.objects.get(what="import")
    assert (line.about, line.who.name, line.address) == ("log.csv", "Ann", "127.0.0.1")
    assert line.detail["entries"] == 2
    assert line.detail["sha256"] == hashlib.sha256(GOOD.encode()).hexdigest()


def test_the_same_file_twice_is_here_already(browser_as: Client) -> None:
    client = browser_as(4)
    bring(client, GOOD)
    words = said(answer := sent(client, GOOD))
    assert "All 2 entries are here already" in words
    assert 'value="bring"' not in answer.content.decode()
    # Somebody who sends the second step twice, for the connection is bad, adds nothing either.
    digest = hashlib.sha256(GOOD.encode()).hexdigest()
    assert sent(client, GOOD, do="bring", seen=digest).status_code == 302
    assert "All 2 entries of log.csv are here already" in said(client.get(PAGE))
    assert Entry.objects.count() == 2
    assert AuditLine.objects.filter(what="import").count() == 1


def test_another_file_than_the_one_looked_at_is_not_brought_in(browser_as: Client) -> None:
    client = browser_as(4)
    digest = seen_in(sent(client, GOOD))
    other = HEAD + "Knot,note,2026-03-03T07:30Z,three\n"
    for seen in (digest, "", "x"):
        answer = sent(client, other, do="bring", seen=seen)
        assert answer.status_code == 422
        assert "not the file that you looked at" in said(answer)
        assert "Knot 1 0" in said(answer)
    assert not Entry.objects.exists()
    assert sent(client, other, do="bring", seen=seen_in(answer)).status_code == 302
    assert Entry.objects.count() == 1


def test_a_whole_log_goes_from_one_yard_to_another(
    knot: Machine, browser_as: Client, sqlite_with_tables: Path, tmp_path: Path
) -> None:
    from tests.databases import using_database

    for machine in Machine.objects.all():
        write_entry(machine, NewEntry(kind="note", values={"text": "a;=b"}), who_name="Bo")
    taken = browser_as(1).get("/log/export/json/").getvalue()
    path = tmp_path / "other.sqlite3"
    path.write_bytes(sqlite_with_tables.read_bytes())
    with using_database(f"sqlite:///{path}"):
        client = browser_as(4)
        words = said(sent(client, taken, "yard.json"))
        assert "Knot 1 0" in words
        assert "2 new machines, 2 new versions of a file" in words
        assert bring(client, taken, "yard.json").status_code == 302
        assert client.get("/log/export/json/").getvalue() == taken


def test_everything_that_is_wrong_is_said_at_once(browser_as: Client) -> None:
    rows = [
        "Gnat,note,2026-03-01T07:30Z,a", "Knot,note,yesterday,b", "Knot,nott,2026-03-01T07:30Z,c",
        "Gnat,note,2026-03-02T07:30Z,d", "<b>Owl</b>,note,2026-03-02T07:30Z,e",
    ]  # fmt: skip
    answer = sent(browser_as(4), HEAD + "\n".join(rows) + "\n")
    page, words = answer.content.decode(), said(answer)
    assert answer.status_code == 422
    for told in (
        "4 things are to be mended, all of them below", "Gnat : 2 entries", "<b>Owl</b> : 1 entry",
        'Line 3, at : "yesterday"', "Not a time.", 'Line 4, kind : "nott"', 'Did you mean "note"?',
    ):  # fmt: skip
        assert told in words, told
    assert "<b>Owl" not in page
    assert 'value="bring"' not in page
    assert not Entry.objects.exists()


def archive() -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as zipped:
        zipped.writestr("log.csv", b"0" * 50_000_000)
    return made.getvalue()


BAD: dict[str, tuple[bytes, str, str]] = {
    "picture": (b"\x89PNG\r\n\x1a\n" + b"x" * 100, "log.csv", "a picture, not text"),
    "zip bomb": (archive(), "log.csv", "an archive or a spreadsheet's own file"),
    "zip bomb as json": (archive(), "log.json", "an archive or a spreadsheet's own file"),
    "another name": (GOOD.encode(), "log.xlsx", "ends in .csv or .json"),
    "no ending": (GOOD.encode(), "log", "ends in .csv or .json"),
    "empty": (b"", "log.csv", "The file is empty"),
    "blank": (b"\n\n", "log.csv", "nothing in it"),
    "utf-16": (GOOD.encode("utf-16"), "log.csv", "UTF-16, not text"),
    "latin-1": ((HEAD + "Knot,note,2026-03-01T07:30Z,ä\n").encode("latin-1"), "log.csv",
                "Not UTF-8: byte 0xE4"),
    "csv of something else": (b"name,price\nbolt,3\n", "log.csv", "No such column"),
    "json of something else": (b'{"price": 3}', "log.json", "no such name at the top"),
    "no json": (b"machine,kind,at\n", "log.json", "Not JSON"),
    "deep": (b'{"a": ' + b"[" * 100_000, "log.json", "Nested too deeply"),
    "deep within bounds of the reader": (
        b'{"tripmargin": ' + b"[" * 500 + b"]" * 500 + b"}", "log.json", "Nested too deeply"),
    "numbers of no end": (
        b'{"tripmargin": "records", "format": 1, "entries": [{"machine": "Knot", "kind": "hours",'
        b' "at": "2026-03-01T07:30Z", "values": {"hours_s": ' + b"9" * 400 + b"}}]}",
        "log.json", "too large a number"),
    "photos": (
        b'{"tripmargin": "records", "format": 1, "entries": [{"machine": "Knot", "kind": "note",'
        b' "at": "2026-03-01T07:30Z", "values": {"text": "x"}, "photos": [{}]}]}',
        "log.json", "Photos are not taken here"),
}  # fmt: skip


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize("do", ["look", "bring"])
def test_a_bad_file_is_refused_with_words_beside_the_box(
    browser_as: Client, bad: str, do: str
) -> None:
    content, name, told = BAD[bad]
    client = browser_as(4)
    seen = hashlib.sha256(content).hexdigest()
    for htmx in (False, True):
        answer = sent(client, content, name, do=do, seen=seen, htmx=htmx)
        assert answer.status_code == 422
        assert told.lower() in said(answer).lower()
        box = answer.content.decode().partition('id="file-said"')[2].partition("</div>")[0]
        assert 'class="trouble"' in box
        assert ("hx-swap-oob" in box) == htmx
    assert not Entry.objects.exists()
    assert not AuditLine.objects.filter(what="import").exists()


def test_no_file_and_a_huge_one_are_refused(
    browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tripmargin.web.log import looking_in

    client = browser_as(4)
    answer = client.post(PAGE, {"do": "look"})
    assert answer.status_code == 422
    assert "Choose a file first" in said(answer)
    assert sizes.LARGEST_LOG_FILE == looking_in.LARGEST_LOG_FILE == 10_000_000
    monkeypatch.setattr(looking_in, "LARGEST_LOG_FILE", 50)
    answer = sent(client, GOOD)
    assert answer.status_code == 422
    assert "Too large" in said(answer)


def test_columns_by_semicolons_and_a_decimal_comma_need_no_word(browser_as: Client) -> None:
    rows = "machine;kind;at;gap_after_m/lower\nKnot;adjustment;2026-03-01T07:30Z;0,0035\n"
    assert bring(browser_as(4), "\ufeff" + rows, "Export (1).CSV").status_code == 302
    assert Entry.objects.get().values == {"gap_after_m/lower": 0.0035}


def test_nothing_of_a_file_is_left_on_the_disk(
    browser_as: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import tempfile

    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    client = browser_as(4)
    big = HEAD + "".join(f"Knot,note,2026-03-01T07:{k % 60:02}Z,{'x' * 1900} {k}\n"
                         for k in range(1200))  # fmt: skip
    assert len(big) > 2_000_000  # Django writes it to a file of its own
    sent(client, big)
    bring(client, GOOD)
    sent(client, "x", "log.csv")
    client.get("/log/export/json/").close()
    assert list(folder.iterdir()) == []


def test_looks_are_not_taken_without_end(browser_as: Client) -> None:
    client = browser_as(4)
    codes = [sent(client, GOOD).status_code for _ in range(21)]
    assert codes == [200] * 20 + [429]


def test_who_may_not_own_is_told_why_and_sends_nothing(browser_as: Client) -> None:
    for role in (1, 2, 3):
        client = browser_as(role)
        words = said(client.get(PAGE))
        assert "An owner of this workshop does that" in words
        assert "Look at it" not in words
        assert sent(client, GOOD).status_code == 403
    assert not Entry.objects.exists()


def test_an_import_that_fails_half_way_leaves_nothing(
    browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tripmargin.records.exchange import writing
    from tripmargin.records.home import RecordsError

    client = browser_as(4)
    digest = seen_in(sent(client, GOOD))

    def fail(machine: Machine) -> None:
        raise RecordsError("Something went away meanwhile; import again.")

    monkeypatch.setattr(writing, "refresh", fail)  # when all entries are written
    answer = sent(client, GOOD, do="bring", seen=digest)
    assert answer.status_code == 422
    assert "went away meanwhile" in said(answer)
    assert not Entry.objects.exists()


def test_json_of_a_million_names_is_told_quickly_enough(browser_as: Client) -> None:
    """Each unknown name was compared with all that are known, and doubles with one another."""
    names = {f"n{k}": 0 for k in range(200_000)}
    entry = {"machine": "Knot", "kind": "note", "at": "2026-03-01T07:30Z"}
    for more, told in (
        ({"values": names}, '"200000" Too many values. Allowed: at most 200.'),
        (names, "n49 No such name here"),
    ):
        given = {"tripmargin": "records", "format": 1, "entries": [entry | more]}
        text = json.dumps(given)
        for content, expected in (
            (text, told),
            (text.replace('"n199999"', '"n199998"'), '"n199998" is there twice'),
        ):
            answer = sent(browser_as(4), content, "log.json")
            assert answer.status_code == 422
            assert expected in said(answer)
