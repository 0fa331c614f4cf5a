"""A case file keeps everything that was entered, whatever happens to its end."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.reference import ROOT
from tripmargin.faultfinding.cases import case_store
from tripmargin.faultfinding.cases.case_file import CaseFile, CaseFileError, CaseHeadError, Entry
from tripmargin.ground.errors import TripmarginError
from tripmargin.machine import copy_of, load_machine, machine_from_copy

WORDS = ("Lampe: grün", "12,4 V über 15/31 – 暗い", 'a "quoted" word', "two\nlines")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A case of six entries, words of several alphabets and an undo in it."""
    path = tmp_path_factory.mktemp("case") / "whole.case"
    case = CaseFile.begin(path, {"complaint": "läuft nicht an"})
    for word in WORDS:
        case.append("finding", saw=word, more={"at": [1, 2.5], "ok": True})
    case.undo()
    case.append("note", text="€")
    return path.read_bytes()


def test_a_case_reads_back_as_it_was_entered(tmp_path: Path) -> None:
    path = tmp_path / "a.case"
    case = CaseFile.begin(path, {"machine": copy_of(load_machine("curlew")), "complaint": "dark"})
    first = case.append("finding", check="F2", volts=np.float64(12.4), states=("on", "off"))
    assert (first.n, first.kind, first["volts"], first["states"]) == (
        1,
        "finding",
        12.4,
        ["on", "off"],
    )
    again = CaseFile.open(path)
    assert again.head == case.head
    assert (again.head["kind"], again.head["format"], again.head["complaint"]) == (
        "case",
        1,
        "dark",
    )
    beside = tmp_path / again.head["machine_file"]
    assert machine_from_copy(json.loads(beside.read_bytes())) == load_machine("curlew")
    assert again.entries == case.entries == (first,)
    assert again.torn is None
    assert again.unread == ()
    assert path.read_bytes().count(b"\n") == 2


def test_a_time_has_its_zone(tmp_path: Path) -> None:
    from datetime import datetime

    case = CaseFile.in_memory({})
    for text in (case.head["begun"], case.append("note").at):
        assert datetime.fromisoformat(text).tzinfo is not None


def test_a_case_never_writes_over_a_file(tmp_path: Path) -> None:
    path = tmp_path / "a.case"
    path.write_text("something else")
    with pytest.raises(CaseFileError, match="never writes over") as caught:
        CaseFile.begin(path, {})
    assert isinstance(caught.value, TripmarginError)
    assert caught.value.hint
    assert path.read_text() == "something else"


def test_undoing_goes_back_step_by_step_and_redoing_forward_again() -> None:
    case = CaseFile.in_memory({})
    for word in "abc":
        case.append("finding", word=word)

    def words() -> str:
        return "".join(entry["word"] for entry in case.standing)

    seen = [words()]
    for step in (case.undo, case.undo, case.redo, case.undo, case.redo, case.redo):
        assert step() is not None
        seen.append(words())
    assert seen == ["abc", "ab", "a", "ab", "a", "ab", "abc"]
    assert case.redo() is None
    assert len(case.entries) == 9


def test_nothing_is_redone_once_something_else_was_entered() -> None:
    case = CaseFile.in_memory({})
    case.append("finding", word="a")
    case.undo()
    case.append("finding", word="b")
    assert case.redo() is None
    case.undo()
    assert case.undo() is None
    assert case.standing == ()


def test_an_undo_of_an_undo_of_an_undo_counts_once() -> None:
    case = CaseFile.in_memory({})
    case.append("finding")
    for of, stands in ((1, 0), (2, 1), (3, 0), (4, 1)):
        case.append("undo", of=of)
        assert len(case.standing) == stands


def test_an_undo_of_what_is_not_there_is_refused() -> None:
    case = CaseFile.in_memory({})
    case.append("finding")
    for of in (2, None, "1", [1]):
        with pytest.raises(CaseFileError, match="not there"):
            case.append("undo", of=of)
    assert len(case.entries) == 1


def cut_and_go_on(path: Path, content: bytes) -> None:
    """Open what is left of a case, add an entry, open again: every whole entry is still there."""
    path.write_bytes(content)
    lines = content.split(b"\n")
    whole = [parsed for line in lines[1:] if (parsed := _parsed(line)) is not None]
    torn = lines[-1] if len(lines) > 1 and lines[-1] and _parsed(lines[-1]) is None else None
    case = CaseFile.open(path)
    assert [entry.to_dict() for entry in case.entries] == whole
    assert path.read_bytes() == content
    assert case.torn == (None if torn is None else torn.decode("utf-8", "replace"))
    added = case.append("note", text="später")
    assert added.n not in {entry["n"] for entry in whole}
    assert path.read_bytes().startswith(content)
    again = CaseFile.open(path)
    assert [entry.to_dict() for entry in again.entries] == [*whole, added.to_dict()]
    assert again.entries == case.entries
    assert (again.torn is None) == (torn is None)
    assert again.unread == case.unread
    assert [line.line for line in again.unread] == ([] if torn is None else [len(lines)])
    assert again.append("note").n == added.n + 1


def _parsed(line: bytes) -> dict[str, object] | None:
    try:
        return json.loads(line.decode())  # type: ignore[no-any-return]
    except ValueError:
        return None


def test_a_case_cut_at_any_byte_keeps_every_whole_entry(tmp_path: Path, written: bytes) -> None:
    path = tmp_path / "cut.case"
    head = written.index(b"\n")
    for length in range(len(written) + 1):
        if length < head:
            path.write_bytes(written[:length])
            with pytest.raises(CaseHeadError, match=r"Start a new case") as caught:
                CaseFile.open(path)
            assert caught.value.line == 1
            assert path.read_bytes() == written[:length]
        else:
            cut_and_go_on(path, written[:length])


@given(data=st.data())
def test_a_case_cut_again_and_again_keeps_every_whole_entry(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("cut") / "a.case"
    case = CaseFile.begin(path, {"who": data.draw(st.text(max_size=5))})
    head = path.stat().st_size
    for _ in range(data.draw(st.integers(1, 3))):
        for text in data.draw(st.lists(st.text(max_size=20), min_size=1, max_size=3)):
            case.append("note", text=text)
        content = path.read_bytes()
        path.write_bytes(content[: data.draw(st.integers(head, len(content)))])
        left = path.read_bytes()
        kept = [
            e for e in case.entries if json.dumps(e.to_dict(), ensure_ascii=False).encode() in left
        ]
        case = CaseFile.open(path)
        assert list(case.entries) == kept


@given(
    fields=st.dictionaries(
        st.text(max_size=5).filter(lambda name: name not in ("n", "at", "kind", "self")),
        st.recursive(
            st.none()
            | st.booleans()
            | st.integers()
            | st.floats(allow_nan=False, allow_infinity=False)
            | st.text(st.characters(categories=None), max_size=8),
            lambda below: st.lists(below, max_size=3) | st.dictionaries(st.text(max_size=3), below),
            max_leaves=5,
        ),
    )
)
def test_whatever_json_can_hold_comes_back(
    fields: dict[str, object], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("any") / "a.case"
    entry = CaseFile.begin(path, {}).append("note", **fields)
    assert entry.fields == fields
    assert CaseFile.open(path).entries == (entry,)


def test_a_damaged_line_is_told_of_and_hides_nothing(tmp_path: Path, written: bytes) -> None:
    path = tmp_path / "damaged.case"
    lines = written.split(b"\n")
    for damage in (b"\x00\xff" * 20, b"[1, 2]", b"nonsense", b'{"n": "x"}', b'{"n": 3, "kind": 1}'):
        path.write_bytes(b"\n".join([*lines[:3], damage, *lines[4:]]))
        case = CaseFile.open(path)
        assert [entry.n for entry in case.entries] == [1, 2, 4, 5, 6]
        (unread,) = case.unread
        assert (unread.line, unread.torn) == (4, False)
        assert unread.problem
        assert case.torn is None
        assert case.append("note").n == 7


def test_torn_lines_in_the_middle_are_still_told_of(tmp_path: Path, written: bytes) -> None:
    path = tmp_path / "torn.case"
    path.write_bytes(written[:-9])
    for _ in range(2):
        CaseFile.open(path).append("note", text="whole")
        path.write_bytes(path.read_bytes() + b'{"n": 70, "at": "2026')
    case = CaseFile.open(path)
    assert [line.line for line in case.unread] == [7, 9, 11]
    assert all(line.torn for line in case.unread)
    assert case.torn is not None
    assert case.torn.count("\n") == 2
    assert [entry.n for entry in case.entries] == [1, 2, 3, 4, 5, 7, 9]


def test_an_end_that_a_power_cut_filled_with_zeros_is_torn(tmp_path: Path, written: bytes) -> None:
    path = tmp_path / "zeros.case"
    path.write_bytes(written + b"\0" * 30)
    case = CaseFile.open(path)
    assert (len(case.entries), case.torn) == (6, "\0" * 30)
    case.append("note")
    assert [line.line for line in CaseFile.open(path).unread] == [8]
    assert len(CaseFile.open(path).entries) == 7


def test_half_a_letter_is_kept_as_it_was_typed(tmp_path: Path) -> None:
    entry = CaseFile.begin(tmp_path / "a.case", {}).append("note", text="gr\udcfcn")
    assert CaseFile.open(tmp_path / "a.case").entries == (entry,)
    assert entry["text"] == "gr\udcfcn"


def test_a_damaged_head_leaves_the_entries_below_it_at_hand(tmp_path: Path, written: bytes) -> None:
    path = tmp_path / "head.case"
    path.write_bytes(written[9:])
    with pytest.raises(CaseHeadError, match=r"6 whole entries") as caught:
        CaseFile.open(path)
    assert [entry.n for entry in caught.value.entries] == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"", "empty"),
        (b'{"name": "something else"}\n', "not the file of a case"),
        (b"[feed]\nknives = 8\n", "not JSON"),
        (b'{"kind": "case", "format": 2}\n', "format 2"),
        (b"\x89PNG\r\n\x1a\n", "not text in UTF-8"),
        (b'{"kind": "case", "for', "cut"),
    ],
)
def test_a_file_that_is_no_case_is_refused(tmp_path: Path, content: bytes, what: str) -> None:
    path = tmp_path / "other"
    path.write_bytes(content)
    with pytest.raises(CaseHeadError, match=what) as caught:
        CaseFile.open(path)
    assert caught.value.allowed
    assert caught.value.hint


def test_a_case_that_cannot_be_opened_says_why(tmp_path: Path) -> None:
    for path, what in (
        (tmp_path / "none.case", "no such file"),
        (tmp_path, "not a file"),
        (Path("zero\0byte"), "cannot be read"),
    ):
        with pytest.raises(CaseFileError, match=what):
            CaseFile.open(path)
    for path in (tmp_path / "no folder" / "a.case", Path("zero\0byte")):
        with pytest.raises(CaseFileError, match="no file can be made here"):
            CaseFile.begin(path, {})


def test_what_json_cannot_hold_is_refused_and_nothing_written(tmp_path: Path) -> None:
    path = tmp_path / "a.case"
    case = CaseFile.begin(path, {})
    before = path.read_bytes()
    for value in (float("nan"), [float("inf")], object(), {1, 2}):
        with pytest.raises(CaseFileError, match="Nothing was written"):
            case.append("note", value=value)
    for wrong in ({"n": 4}, {"at": "now"}):
        with pytest.raises(CaseFileError, match="not the caller's"):
            case.append("note", **wrong)
    with pytest.raises(CaseFileError, match="a kind or a format of its own"):
        CaseFile.in_memory({"kind": "other"})
    assert path.read_bytes() == before
    assert case.entries == ()


def test_a_full_disk_costs_the_entry_that_is_told_of_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.case"
    case = CaseFile.begin(path, {})
    case.append("note", text="first")
    write = os.write

    def half(number: int, data: bytes) -> int:
        monkeypatch.setattr(case_store.os, "write", full)
        return write(number, bytes(data)[: len(data) // 2])

    def full(number: int, data: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(case_store.os, "write", half)
    with pytest.raises(CaseFileError, match="not written whole: No space left") as caught:
        case.append("note", text="second")
    assert json.loads(caught.value.value)["text"] == "second"
    with pytest.raises(CaseFileError, match="No space left"):
        CaseFile.begin(tmp_path / "b.case", {})
    assert not (tmp_path / "b.case").exists()
    monkeypatch.undo()
    case.append("note", text="second again")
    assert [e["text"] for e in CaseFile.open(path).entries] == ["first", "second again"]
    assert case.torn is not None


def test_an_entry_goes_to_the_disk_before_append_returns(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settled: list[bool] = []
    sync = os.fsync

    def told(number: int) -> None:
        import stat

        settled.append(stat.S_ISDIR(os.fstat(number).st_mode))
        sync(number)

    monkeypatch.setattr(case_store.os, "fsync", told)
    case = CaseFile.begin(tmp_path / "a.case", {})
    assert settled == ([False, True] if os.name == "posix" else [False])
    case.append("note")
    assert settled[-1] is False
    assert len(settled) == (3 if os.name == "posix" else 2)


def test_a_file_put_in_its_place_is_noticed_and_the_case_can_be_saved_elsewhere(
    tmp_path: Path,
) -> None:
    path = tmp_path / "a.case"
    case = CaseFile.begin(path, {"who": "a"})
    older = path.read_bytes()
    case.append("note", text="kept")
    path.write_bytes(older)  # as a program that keeps copies would
    with pytest.raises(CaseFileError, match="begin any more"):
        case.append("note", text="lost?")
    path.unlink()
    with pytest.raises(CaseFileError, match="save_as"):
        case.append("note", text="lost?")
    saved = case.save_as(tmp_path / "b.case")
    assert saved.entries == case.entries
    assert saved.append("note").n == 2


def test_a_case_in_memory_works_alike_and_can_be_saved(tmp_path: Path) -> None:
    case = CaseFile.in_memory({"complaint": "dark"})
    assert case.path is None
    case.append("finding", word="a")
    case.append("finding", word="b")
    case.undo()
    saved = case.save_as(tmp_path / "a.case")
    assert (saved.head, saved.entries, saved.standing) == (case.head, case.entries, case.standing)
    assert saved.path == tmp_path / "a.case"


ADDING = """
import sys
from tripmargin.faultfinding.cases.case_file import CaseFile
case = CaseFile.open(sys.argv[1])
for count in range(200):
    case.append("note", who=sys.argv[2], count=count, text="ü" * 50)
"""


def added_by_two(path: Path, first_words: str = "") -> CaseFile:
    CaseFile.begin(path, {})
    places = os.pathsep.join(filter(None, [str(ROOT / "src"), os.environ.get("PYTHONPATH")]))
    running = [
        subprocess.Popen(
            [sys.executable, "-c", first_words + ADDING, str(path), who],
            env=os.environ | {"PYTHONPATH": places},
        )
        for who in "ab"
    ]
    assert [one.wait(timeout=120) for one in running] == [0, 0]
    return CaseFile.open(path)


def by_whom(entries: tuple[Entry, ...], who: str) -> list[int]:
    return [entry["count"] for entry in entries if entry["who"] == who]


def test_two_programs_adding_at_once_lose_and_tear_nothing(tmp_path: Path) -> None:
    case = added_by_two(tmp_path / "a.case")
    assert case.unread == ()
    assert [entry.n for entry in case.entries] == list(range(1, 401))
    for who in "ab":
        assert by_whom(case.entries, who) == list(range(200))


def test_without_locks_two_programs_still_lose_and_tear_nothing(tmp_path: Path) -> None:
    no_locks = "import sys\nsys.modules['fcntl'] = None\n"
    case = added_by_two(tmp_path / "a.case", no_locks)
    assert case.unread == ()
    for who in "ab":
        assert by_whom(case.entries, who) == list(range(200))


def test_an_entry_that_comes_between_reading_and_writing_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.case"
    case = CaseFile.begin(path, {})
    write = case_store._OpenFile.write

    def late(self: case_store._OpenFile, more: bytes) -> None:
        write(self, b'{"n": 1, "at": "", "kind": "note", "who": "other"}\n')
        write(self, more)

    monkeypatch.setattr(case_store._OpenFile, "write", late)  # as on a system without locks
    assert case.append("note", who="me")["who"] == "me"
    monkeypatch.undo()
    assert [entry["who"] for entry in case.entries] == ["other", "me"]
    assert case.append("note", who="me again").n == 3
    assert CaseFile.open(path).entries == case.entries


def test_a_file_that_stays_locked_is_told_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fcntl = pytest.importorskip("fcntl", reason="locks of another kind on this system")
    path = tmp_path / "a.case"
    case = CaseFile.begin(path, {})
    monkeypatch.setattr(case_store, "PATIENCE", 0.05)
    with path.open("rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        with pytest.raises(CaseFileError, match="another program"):
            case.append("note")
    assert case.append("note").n == 1
