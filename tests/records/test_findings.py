"""What a log tells of a sensor and a stop: which entries count, since when, what is said."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from tests.records.standing_help import new_machine, write
from tripmargin.recordings import MetalFound, StopMeasured, TestPass
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.machines import add_demo_machine, add_version, machine_of
from tripmargin.records.kinds import WITHDRAWN, EntryError, kind_named, read_values
from tripmargin.records.standing.findings import findings_of
from tripmargin.records.store.models import Machine

PASS: dict[str, Any] = {
    "piece": "16 mm ball", "across_m": -0.163, "height_m": 0.07, "speed_m_s": 0.65, "caught": True,
}  # fmt: skip
STOP: dict[str, Any] = {"stop_time_s": 0.052, "sd_s": 0.002, "cut_length_m": 0.008}
TRIP: dict[str, Any] = {
    "found": "bolt or nut", "size_m": 0.02, "left_m": 0.15, "cut_length_m": 0.008,
}  # fmt: skip


@pytest.fixture
def machine(sqlite_records: str) -> Machine:
    return add_demo_machine("curlew", who_name="Ann")


def ago(**how: float) -> Any:
    return timezone.now() - timedelta(**how)


def test_each_kind_becomes_what_a_calibration_takes(machine: Machine) -> None:
    write(machine, "test pass", {**PASS, "caught": False}, ago(hours=5))
    write(machine, "test pass", {**PASS, "place_doubt_m": 0.001}, ago(hours=4))
    write(machine, "stop time", STOP, ago(hours=3))
    write(machine, "trip", TRIP, ago(hours=2))
    found = findings_of(machine)
    assert found.notes == ()
    first, second, stop, trip = found.observations
    assert isinstance(first, TestPass)
    assert (first.piece.name, first.x, first.height, first.speed) == (
        "16 mm ball",
        -0.163,
        0.07,
        0.65,
    )
    assert (first.caught, first.place_doubt) == (False, 0.003)
    assert isinstance(second, TestPass)
    assert (second.caught, second.place_doubt) == (True, 0.001)
    assert isinstance(stop, StopMeasured)
    assert (stop.cut_length, stop.value) == (0.008, 0.052)
    assert stop.high - stop.low == pytest.approx(2 * 1.96 * 0.002, rel=1e-4)
    assert isinstance(trip, MetalFound)
    assert (trip.piece.name, trip.before_bar, trip.cut_length) == ("20 mm ball", 0.15, 0.008)
    assert [one.number for one in found.used] == [1, 2, 0, 0]
    assert found.used[0].words[0] == (
        "16 mm ball, 163 mm left of the middle, 70 mm high, 0.65 m/s: missed"
    )


def test_what_is_taken_back_or_corrected_does_not_count(machine: Machine) -> None:
    wrong = write(machine, "test pass", PASS, ago(hours=5))
    write(machine, "test pass", {**PASS, "caught": False}, ago(hours=5), corrects=wrong)
    gone = write(machine, "test pass", PASS, ago(hours=4))
    write_entry(
        machine, NewEntry(kind=WITHDRAWN, values={}, note="no", corrects=gone), who_name="Ann"
    )
    (only,) = findings_of(machine).observations
    assert isinstance(only, TestPass)
    assert only.caught is False


@pytest.mark.parametrize(
    ("kind", "values", "said"),
    [
        ("stop time", {"stop_time_s": 0.05, "sd_s": 0.002}, "1 stop time is left out: the cut"),
        ("stop time", {"stop_time_s": 0.05, "cut_length_m": 0.008}, "its standard deviation is"),
        ("trip", {"found": "tine", "left_m": 0.1, "cut_length_m": 0.008}, "but not its size"),
        ("trip", {"found": "tine", "left_m": 0.1, "size_m": 0.01}, "but not its cut length"),
    ],
)  # fmt: skip
def test_what_lacks_something_is_left_out_and_said(
    machine: Machine, kind: str, values: dict[str, Any], said: str
) -> None:
    write(machine, kind, values, ago(hours=1))
    found = findings_of(machine)
    assert found.used == ()
    assert len(found.notes) == 1
    assert said in found.notes[0]


def test_stones_and_trips_without_a_place_are_no_findings_and_are_not_spoken_of(
    machine: Machine,
) -> None:
    write(machine, "trip", {**TRIP, "found": "stone"}, ago(hours=1))
    write(machine, "trip", {"found": "tine"}, ago(hours=1))
    found = findings_of(machine)
    assert (found.used, found.notes) == ((), ())


@pytest.mark.parametrize(
    ("part", "left"),
    [
        ("Sensor, lower front roll", {"trip", "test pass"}),
        ("detector module", {"test pass", "stop time", "trip"}),
        ("Relay", {"stop time", "trip"}),
        ("spring of the upper pawl", {"stop time", "trip"}),
    ],
)
def test_what_was_found_before_a_part_was_replaced_does_not_count(
    machine: Machine, part: str, left: set[str]
) -> None:
    for kind, values in (("test pass", PASS), ("stop time", STOP), ("trip", TRIP)):
        write(machine, kind, values, ago(hours=3))
    write(machine, "part replaced", {"part": part}, ago(hours=2))
    found = findings_of(machine)
    assert {one.kind for one in found.used} == {"test pass", "stop time", "trip"} - left
    assert len(found.notes) == len(left)
    assert all(f"“{part}” was replaced on" in note for note in found.notes)
    write(machine, "test pass", PASS, ago(hours=1))
    assert "test pass" in {one.kind for one in findings_of(machine).used}


def test_a_part_of_which_it_cannot_be_told_is_spoken_of_and_all_counts(machine: Machine) -> None:
    write(machine, "test pass", PASS, ago(hours=3))
    write(machine, "part replaced", {"part": "hydraulic hose"}, ago(hours=2))
    found = findings_of(machine)
    assert len(found.used) == 1
    assert found.notes[0].startswith("“hydraulic hose” was replaced on")
    assert "so what was found before counts too" in found.notes[0]


def test_a_pawl_set_anew_ends_what_was_known_of_the_stop_alone(machine: Machine) -> None:
    for kind, values in (("test pass", PASS), ("stop time", STOP)):
        write(machine, kind, values, ago(hours=3))
    same = {"gap_before_m/lower": 0.0035, "gap_after_m/lower": 0.0035}
    write(machine, "adjustment", same, ago(hours=2))
    assert len(findings_of(machine).used) == 2
    write(machine, "adjustment", {**same, "gap_after_m/lower": 0.004}, ago(hours=1))
    found = findings_of(machine)
    assert [one.kind for one in found.used] == ["test pass"]
    assert "a pawl was set anew on" in found.notes[0]


@pytest.mark.parametrize(
    ("field", "value", "left"),
    [
        ("detector.gain", 1000.0, "test pass"),
        ("chain.relay_release", 0.006, "stop time"),
        ("limits.stop_time", 0.07, ""),
    ],
)
def test_a_version_that_changes_the_machine_is_not_learned_from_twice(
    machine: Machine, field: str, value: float, left: str
) -> None:
    """What was learned and kept is in the file: the same passes must not sharpen it again."""
    for kind, values in (("test pass", PASS), ("stop time", STOP)):
        write(machine, kind, values, ago(hours=3))
    first = machine.versions.get()
    add_version(machine, first.text, machine_of(first).with_settings({field: value}), who_name="A")
    found = findings_of(machine)
    assert {one.kind for one in found.used} == {"test pass", "stop time"} - {left}
    assert any(f"version 2 of the file changed {field}" in note for note in found.notes) == bool(
        left
    )


def test_only_the_newest_are_looked_at(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    from tripmargin.records.standing import findings

    monkeypatch.setattr(findings, "MOST", 2)
    for hour in (5, 4, 3):
        write(machine, "test pass", {**PASS, "speed_m_s": float(hour)}, ago(hours=hour))
    found = findings_of(machine)
    assert [one.observation.speed for one in found.used] == [4.0, 3.0]  # type: ignore[union-attr]
    assert "Only the newest 2" in found.notes[0]


def test_a_machine_that_says_nothing_has_its_findings_all_the_same(sqlite_records: str) -> None:
    machine = new_machine('[machine]\nname = "{name}"\n')
    write(machine, "test pass", PASS, ago(hours=3))
    assert len(findings_of(machine).used) == 1


# --- the kind itself ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("piece", "said"),
    [
        ("M8x30 bolt", "how it lay is not said"),
        ("12,5 mm ball", "a comma inside a number"),
        ("a stone", "Allowed: a ball such as"),
        ("-3 mm ball", ""),
        ("16 mm", ""),
    ],
)
def test_a_piece_that_is_none_is_refused(piece: str, said: str) -> None:
    words = {
        "piece": piece, "across_m": "-163 mm", "height_m": "70 mm", "speed_m_s": "0.65 m/s",
        "caught": "yes",
    }  # fmt: skip
    with pytest.raises(EntryError) as refused:
        read_values(kind_named("test pass"), words)
    assert [one.field for one in refused.value.wrong] == ["piece"]
    assert said in str(refused.value)


def test_an_import_with_a_piece_that_is_none_is_refused(machine: Machine) -> None:
    with pytest.raises(EntryError, match="piece"):
        write(machine, "test pass", {**PASS, "piece": "nothing"}, ago(hours=1))
    write(machine, "test pass", {**PASS, "piece": "M8x30 bolt along"}, ago(hours=1))
