"""What is kept of a machine that was read: as if worked out anew, and never trusted blindly."""

from __future__ import annotations

import os
import time
from pathlib import Path

import numpy as np
import pytest

from tests.circuit.plover_circuit import plover
from tripmargin.circuit import Fault, fault_modes, fault_table, fault_tables
from tripmargin.faultfinding.suspects import kept
from tripmargin.faultfinding.suspects.kept import Kept, fetched, keep, keep_in, name_of


@pytest.fixture(autouse=True)
def folder(tmp_path: Path):
    """A folder of its own, and afterwards that of the whole run again."""
    before = kept._folder
    keep_in(tmp_path / "kept")
    yield tmp_path / "kept"
    keep_in(before)


@pytest.fixture(scope="module")
def tables():
    network = plover()
    faults = [mode.fault for mode in fault_modes(network)][:12]
    return fault_tables(network, [None, network.steps[:3]], faults, last_of=[1])


READINGS = {"hold winding": np.array([0.3, 18.0, np.inf])}


def test_tables_and_readings_come_back_as_they_were(tables):
    keep("one", Kept(tables, READINGS))
    found = fetched("one", 2)
    for mine, theirs in zip(found.tables, tables, strict=True):
        for name in ("faults", "steps", "columns", "nodes", "fuses"):
            assert getattr(mine, name) == getattr(theirs, name)
        for name in ("words", "volts", "chatters", "blown"):
            assert np.array_equal(getattr(mine, name), getattr(theirs, name))
    assert list(found.readings) == list(READINGS)
    assert np.array_equal(found.readings["hold winding"], READINGS["hold winding"])


def test_the_file_holds_nothing_that_runs(tables, folder):
    keep("one", Kept(tables, READINGS))
    with np.load(folder / "one.npz", allow_pickle=False) as file:
        assert all(file[name].dtype.kind in "Ufbu" for name in file.files)


@pytest.mark.parametrize("cut", [0, 1, 100, -1000, -1])
def test_a_file_that_is_cut_or_empty_is_worked_out_anew(tables, folder, cut):
    keep("one", Kept(tables))
    whole = (folder / "one.npz").read_bytes()
    (folder / "one.npz").write_bytes(whole[:cut])
    assert fetched("one", 2) == Kept()


def test_a_file_with_other_things_in_it_is_worked_out_anew(folder, tables):
    folder.mkdir()
    np.savez(folder / "one.npz", faults=np.array(["healthy"]))
    assert fetched("one", 1) == Kept()
    keep("two", Kept(tables))
    assert fetched("two", 3) == Kept()  # a table less than asked for
    (folder / "three.npz").write_text("no archive", encoding="utf-8")
    assert fetched("three", 1) == Kept()


def test_a_name_goes_by_all_that_it_depends_on(monkeypatch):
    first = name_of("machine", (Fault("a", "A"),))
    assert name_of("machine", (Fault("a", "A"),)) == first
    assert name_of("machine", (Fault("b", "A"),)) != first
    assert name_of("another", (Fault("a", "A"),)) != first
    monkeypatch.setattr(kept, "_program", lambda: "another program")
    assert name_of("machine", (Fault("a", "A"),)) != first


def test_the_oldest_are_let_go(tables, folder):
    for number in range(kept.MOST + 3):
        keep(f"file {number}", Kept(tables[1:]))
    assert len(list(folder.iterdir())) == kept.MOST


def test_what_a_killed_program_left_half_written_goes_after_an_hour(tables, folder):
    folder.mkdir()
    for name, age in (("old.part", 2 * kept.LEFT), ("new.part", 0.0)):
        (folder / name).write_bytes(b"half")
        then = time.time() - age
        os.utime(folder / name, (then, then))
    keep("one", Kept(tables[1:]))
    assert sorted(each.name for each in folder.iterdir()) == ["new.part", "one.npz"]


def test_nothing_is_kept_where_nothing_is_to_be_kept_or_can_be(tables, tmp_path):
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    keep_in(tmp_path / "file" / "folder")
    keep("one", Kept(tables))
    assert fetched("one", 2) == Kept()
    keep_in(None)
    keep("one", Kept(tables))
    assert fetched("one", 2) == Kept()


def test_a_kept_table_is_the_one_that_is_worked_out_again(tables):
    keep("one", Kept(tables))
    again = fault_table(plover(), faults=[mode.fault for mode in fault_modes(plover())][:12])
    assert np.array_equal(fetched("one", 2).tables[0].words, again.words)
