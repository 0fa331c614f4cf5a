"""The copy of a case's machine stands beside the case, and the entries do not depend on it."""

from __future__ import annotations

import errno
import json
import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.reference import lacking
from tripmargin.faultfinding.cases import case_store
from tripmargin.faultfinding.cases.case_file import CaseFile, CaseFileError, CaseHeadError
from tripmargin.faultfinding.cases.machine_beside import MachineBesideError, copy_kept
from tripmargin.faultfinding.cases.resuming import (
    AS_IT_IS,
    AS_IT_WAS,
    MachineChangedError,
    machine_of_case,
)
from tripmargin.machine import Machine, copy_of, load_machine, machine_from_copy
from tripmargin.machine.copies import digest_of

DAMAGES = (b"", b"{", b"[1]", b"\x00\xff", b"null", b'{"format": 1, "sheets": []}')


@pytest.fixture(scope="module")
def machine() -> Machine:
    return load_machine("dunlin")


@pytest.fixture(scope="module")
def another(machine: Machine) -> Machine:
    return machine.with_settings({"checks.wrong": "10 %"})


def begun(path: Path, machine: Machine, entries: int = 2) -> CaseFile:
    case = CaseFile.begin(path, {"machine_name": machine.name, "machine": copy_of(machine)})
    for number in range(entries):
        case.append("finding", check=f"standing: fuse F{number}", word="whole", note="n" * 40)
    return case


def old_form(path: Path, machine: Machine) -> Path:
    """A case with the copy in its first line, as all were once."""
    head = {"kind": "case", "format": 1, "begun": "2026-05-04T07:30:00+02:00"}
    lines = [
        head | {"machine_name": machine.name, "machine": copy_of(machine)},
        {"n": 1, "at": "2026-05-04T07:31:00+02:00", "kind": "finding", "word": "whole"},
    ]
    path.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    return path


def beside(path: Path) -> Path:
    """The file that a case's first line names."""
    return path.parent / json.loads(path.read_bytes().partition(b"\n")[0])["machine_file"]


def names(folder: Path) -> list[str]:
    return sorted(each.name for each in folder.iterdir())


def rewritten(path: Path, **fields: Any) -> None:
    """The case with other values in its first line."""
    head, _, rest = path.read_bytes().partition(b"\n")
    path.write_bytes(json.dumps(json.loads(head) | fields).encode() + b"\n" + rest)


# --- beginning -----------------------------------------------------------------------------------


def test_a_new_case_names_its_machine_in_a_short_first_line(tmp_path: Path, machine: Machine):
    case = begun(tmp_path / "case-x.jsonl", machine)
    digest = digest_of(machine)
    name = f"case-x.machine-{digest[:12]}.json"
    assert names(tmp_path) == ["case-x.jsonl", name]
    assert (case.head["machine_file"], case.head["machine_digest"]) == (name, digest)
    assert "machine" not in case.head
    assert (tmp_path / "case-x.jsonl").read_bytes().index(b"\n") < 400
    kept = json.loads((tmp_path / name).read_text(encoding="utf-8"))
    assert machine_from_copy(kept) == machine == machine_of_case(case, None, "")


def test_a_case_cut_in_half_keeps_about_half_of_its_entries(tmp_path: Path, machine: Machine):
    path = tmp_path / "a.jsonl"
    begun(path, machine, entries=10)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    case = CaseFile.open(path)
    assert 3 <= len(case.entries) <= 5
    assert machine_of_case(case, None, "") == machine


def test_a_case_cut_at_any_byte_keeps_every_whole_entry_and_its_machine(
    tmp_path: Path, machine: Machine
):
    path = tmp_path / "a.jsonl"
    begun(path, machine, entries=3)
    whole = path.read_bytes()
    head = whole.index(b"\n")
    for length in range(len(whole) + 1):
        path.write_bytes(whole[:length])
        if length < head:
            with pytest.raises(CaseHeadError):
                CaseFile.open(path)
            continue
        case = CaseFile.open(path)
        ends = [place for place, byte in enumerate(whole) if byte == 10][1:]
        assert len(case.entries) == sum(end <= length for end in ends)
        assert copy_kept(path, case.head)["digest"] == digest_of(machine)


def test_the_machine_is_on_the_disk_before_the_first_line(
    tmp_path: Path, machine: Machine, monkeypatch: pytest.MonkeyPatch
):
    seen: list[tuple[str, int]] = []
    sync = os.fsync

    def told(number: int) -> None:
        there = [each for each in names(tmp_path) if each.endswith((".json", ".jsonl", ".part"))]
        seen.append((" ".join(each.rpartition(".")[2] for each in there), number))
        sync(number)

    monkeypatch.setattr(os, "fsync", told)
    begun(tmp_path / "a.jsonl", machine, entries=0)
    settled = [what for what, _ in seen]
    assert settled[0] == "part"
    assert settled[-1] == "jsonl json"
    if os.name == "posix":  # the folder, with the copy's name in it
        assert settled == ["part", "json", "jsonl json", "jsonl json"]


def test_nothing_is_left_behind_where_a_case_cannot_be_begun(
    tmp_path: Path, machine: Machine, monkeypatch: pytest.MonkeyPatch
):
    (tmp_path / "taken.jsonl").write_text("something else", encoding="utf-8")
    with pytest.raises(CaseFileError, match="never writes over"):
        begun(tmp_path / "taken.jsonl", machine)
    assert names(tmp_path) == ["taken.jsonl"]
    for path in (tmp_path / "no folder" / "a.jsonl", Path("zero\0byte")):
        with pytest.raises(CaseFileError, match="no file can be made here"):
            begun(path, machine)
    write, calls = os.write, [0]

    def full(number: int, data: bytes) -> int:
        calls[0] += 1
        if calls[0] > allowed:
            raise OSError(errno.ENOSPC, "No space left on device")
        return write(number, data)

    monkeypatch.setattr(case_store.os, "write", full)
    for allowed in (0, 1):  # the copy has no room, or the case itself
        calls[0] = 0
        with pytest.raises(CaseFileError, match="No space left"):
            begun(tmp_path / "a.jsonl", machine)
        assert calls[0] == allowed + 1
        assert names(tmp_path) == ["taken.jsonl"]


def test_a_whole_copy_that_is_there_is_used_again_and_stays_after_a_failure(
    tmp_path: Path, machine: Machine, monkeypatch: pytest.MonkeyPatch
):
    path = tmp_path / "a.jsonl"
    begun(path, machine)
    copy = beside(path)
    before = copy.stat()
    path.unlink()
    monkeypatch.setattr(os, "replace", None)  # nothing is written a second time
    begun(path, machine)
    after = copy.stat()
    assert (after.st_ino, after.st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    path.unlink()

    def refused(path: Path, content: bytes) -> None:
        raise CaseFileError(str(path), "no room", "room")

    monkeypatch.setattr("tripmargin.faultfinding.cases.case_file.create", refused)
    with pytest.raises(CaseFileError, match="no room"):
        begun(path, machine)
    assert names(tmp_path) == [copy.name]


def test_a_damaged_copy_under_that_name_is_written_anew(tmp_path: Path, machine: Machine):
    path = tmp_path / "a.jsonl"
    begun(path, machine)
    whole = beside(path).read_bytes()
    beside(path).write_bytes(whole[:1000])
    copy = beside(path)
    path.unlink()
    begun(path, machine)
    assert copy.read_bytes() == whole


ODD = ["ä" * 100, "a b", "x.machine-", *(["c\\d:e"] if os.name != "nt" else [])]


@pytest.mark.parametrize("stem", ODD)
def test_the_name_of_a_case_may_be_long_or_odd(tmp_path: Path, machine: Machine, stem: str):
    path = tmp_path / f"{stem}.jsonl"
    begun(path, machine)
    assert machine_of_case(CaseFile.open(path), None, "") == machine


def test_a_case_in_memory_keeps_the_copy_itself_until_it_is_saved(
    tmp_path: Path, machine: Machine, another: Machine
):
    case = CaseFile.in_memory({"machine": copy_of(machine)})
    case.append("finding", word="whole")
    assert machine_of_case(case, another, AS_IT_IS) == another
    assert case.head["machine"] == copy_of(machine)
    assert case.entries[-1]["machine"] == copy_of(another)
    saved = case.save_as(tmp_path / "a.jsonl")
    assert len(names(tmp_path)) == 3
    assert (tmp_path / "a.jsonl").stat().st_size < 1000
    assert [entry.kind for entry in saved.entries] == ["finding", "machine"]
    assert saved.entries[0] == case.entries[0]
    assert machine_of_case(saved, None, "") == another


# --- moving --------------------------------------------------------------------------------------


def test_a_case_that_was_renamed_finds_its_machine(tmp_path: Path, machine: Machine):
    begun(tmp_path / "a.jsonl", machine)
    path = (tmp_path / "a.jsonl").rename(tmp_path / "b.case")
    assert machine_of_case(CaseFile.open(path), None, "") == machine
    beside(path).unlink()  # and what is written anew has the name that the case says
    assert machine_of_case(CaseFile.open(path), machine, "") == machine
    assert names(tmp_path) == [beside(path).name, "b.case"]


def test_a_case_is_gone_on_with_through_a_link_from_elsewhere(tmp_path: Path, machine: Machine):
    begun(tmp_path / "a.jsonl", machine)
    (tmp_path / "links").mkdir()
    link = tmp_path / "links" / "b.jsonl"
    try:
        link.symlink_to(tmp_path / "a.jsonl")
    except OSError:
        lacking("links to files")
    assert machine_of_case(CaseFile.open(link), None, "") == machine


def test_a_case_saved_in_another_folder_takes_its_machine_with_it(tmp_path: Path, machine: Machine):
    case = begun(tmp_path / "a.jsonl", machine)
    (tmp_path / "other").mkdir()
    saved = case.save_as(tmp_path / "other" / "b.jsonl")
    assert saved.entries == case.entries
    beside(tmp_path / "a.jsonl").unlink()
    assert machine_of_case(saved, None, "") == machine
    # and where the copy is lost, all else is saved as it is
    again = case.save_as(tmp_path / "other" / "c.jsonl")
    assert (again.head, again.entries) == (case.head, case.entries)


# --- going on ------------------------------------------------------------------------------------


def test_the_old_form_is_still_read_and_a_choice_goes_beside_it(
    tmp_path: Path, machine: Machine, another: Machine
):
    path = old_form(tmp_path / "a.jsonl", machine)
    before = path.read_bytes()
    for given in (None, machine):
        assert machine_of_case(CaseFile.open(path), given, "") == machine
    with pytest.raises(MachineChangedError):
        machine_of_case(CaseFile.open(path), another, "")
    assert path.read_bytes() == before
    assert machine_of_case(CaseFile.open(path), another, AS_IT_WAS) == machine
    assert machine_of_case(CaseFile.open(path), another, AS_IT_IS) == another
    assert path.stat().st_size < len(before) + 400
    assert names(tmp_path) == ["a.jsonl", f"a.machine-{digest_of(another)[:12]}.json"]
    assert machine_of_case(CaseFile.open(path), None, "") == another
    # an entry of the old form, too
    CaseFile.open(path).append("machine", machine=copy_of(machine))
    assert machine_of_case(CaseFile.open(path), None, "") == machine


@pytest.mark.parametrize("damage", [None, *DAMAGES, "half", "other"])
def test_a_copy_that_is_missing_or_damaged_costs_no_entry(
    tmp_path: Path, machine: Machine, another: Machine, damage: bytes | str | None
):
    path = tmp_path / "a.jsonl"
    begun(path, machine)
    copy = beside(path)
    whole = copy.read_bytes()
    if damage is None:
        copy.unlink()
    elif isinstance(damage, bytes):
        copy.write_bytes(damage)
    else:
        other = json.dumps(copy_of(another)).encode()
        copy.write_bytes(whole[: len(whole) // 2] if damage == "half" else other)
    before = path.read_bytes()
    # none given, or another and no choice, or one that cannot be kept to: an error that helps
    for given, keep in ((None, ""), (another, ""), (another, AS_IT_WAS), (None, AS_IT_IS)):
        with pytest.raises(MachineBesideError) as caught:
            machine_of_case(CaseFile.open(path), given, keep)
        assert caught.value.value == copy.name
        assert isinstance(caught.value, CaseFileError)
        for words in (copy.name, "2 entries", f"Put {copy.name} back", AS_IT_IS):
            assert words in str(caught.value)
        assert path.read_bytes() == before
    # the same one: it is written anew
    assert machine_of_case(CaseFile.open(path), machine, "") == machine
    assert copy.read_bytes() == whole
    assert path.read_bytes() == before
    assert machine_of_case(CaseFile.open(path), None, "") == machine
    # another, as it is today
    copy.unlink()
    assert machine_of_case(CaseFile.open(path), another, AS_IT_IS) == another
    assert path.read_bytes().startswith(before)
    assert machine_of_case(CaseFile.open(path), None, "") == another
    assert len(CaseFile.open(path).entries) == 3


def test_any_changed_byte_of_the_copy_is_noticed_or_changes_nothing(
    tmp_path: Path, machine: Machine
):
    path = tmp_path / "a.jsonl"
    case = begun(path, machine)
    whole = beside(path).read_bytes()
    noticed = 0
    for place in range(0, len(whole), len(whole) // 60):
        beside(path).write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
        try:
            assert machine_of_case(case, None, "").checks == machine.checks
        except MachineBesideError:
            noticed += 1
    assert noticed > 20


def test_a_choice_whose_copy_is_lost_is_told_of_by_its_own_name(
    tmp_path: Path, machine: Machine, another: Machine
):
    path = tmp_path / "a.jsonl"
    begun(path, machine)
    machine_of_case(CaseFile.open(path), another, AS_IT_IS)
    name = f"a.machine-{digest_of(another)[:12]}.json"
    whole = (tmp_path / name).read_bytes()
    (tmp_path / name).unlink()
    with pytest.raises(MachineBesideError, match=name):
        machine_of_case(CaseFile.open(path), machine, "")
    assert machine_of_case(CaseFile.open(path), another, "") == another
    assert (tmp_path / name).read_bytes() == whole


@pytest.mark.parametrize(
    "name", ["../{}", "sub/{}", "sub\\{}", "C:{}", "/tmp/{}", "", "..", "dunlin.toml", 7, "{}\0"]
)
def test_a_first_line_that_names_anything_else_is_refused(
    tmp_path: Path, machine: Machine, another: Machine, name: object
):
    folder = tmp_path / "cases"
    (folder / "sub").mkdir(parents=True)
    path = folder / "a.jsonl"
    begun(path, machine)
    copy = beside(path)
    named = name.format(copy.name) if isinstance(name, str) else name
    for place in (tmp_path, folder / "sub"):
        shutil.copy(copy, place)
    (folder / "dunlin.toml").write_text("mine", encoding="utf-8")
    rewritten(path, machine_file=named)
    before = path.read_bytes()
    for given, keep in ((None, ""), (machine, ""), (another, AS_IT_IS)):
        with pytest.raises(CaseFileError, match="does not name the copy") as caught:
            machine_of_case(CaseFile.open(path), given, keep)
        assert "without a folder" in caught.value.allowed
    assert path.read_bytes() == before
    assert (folder / "dunlin.toml").read_text(encoding="utf-8") == "mine"


def test_a_first_line_without_a_machine_or_with_a_wrong_digest_says_so(
    tmp_path: Path, machine: Machine, another: Machine
):
    case = CaseFile.begin(tmp_path / "a.jsonl", {})
    with pytest.raises(MachineBesideError, match="names no file"):
        machine_of_case(case, None, "")
    assert machine_of_case(case, another, AS_IT_IS) == another
    begun(tmp_path / "b.jsonl", machine)
    for digest in (None, "0", 5, "../" + "0" * 61):
        rewritten(tmp_path / "b.jsonl", machine_digest=digest)
        with pytest.raises(CaseFileError, match="not the digest"):
            machine_of_case(CaseFile.open(tmp_path / "b.jsonl"), machine, "")
