"""What is due and how a machine stands, from facts and the time."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest

from tests.records.standing_help import BARE, GOOD, NO_TRIP, NOW, ago, facts, new_machine, write
from tripmargin.ground.languages import known_languages, speaking
from tripmargin.records.keeping.entries import newest_version
from tripmargin.records.standing.due import BEFORE_WORK, MEND_FIRST, SOON, Due, due_of
from tripmargin.records.standing.proving_versions import PROGRAM, kept_proof, proof_of
from tripmargin.records.standing.refreshing import refresh
from tripmargin.records.standing.state import state_of
from tripmargin.records.store.models import Entry, FaultCase, Machine, VersionProof

SOUND_GAPS = {
    "gap_before_m/lower": 0.0035, "gap_after_m/lower": 0.0035, "gap_before_m/upper": 0.0035,
    "gap_after_m/upper": 0.0035, "feeler_m": 0.0001,
}  # fmt: skip


@pytest.fixture
def machine(records: str) -> Machine:
    return new_machine()


@pytest.fixture
def sound(machine: Machine) -> Machine:
    """Nothing is due on it but what a test adds."""
    write(machine, "adjustment", SOUND_GAPS, ago(days=2))
    write(machine, "stop time", {"stop_time_s": 0.052}, ago(days=20))
    write(machine, "daily check", GOOD, ago(hours=5))
    return machine


def kept(machine: Machine) -> dict[str, Any]:
    """Facts as if the machine's file had been there from the start: it was added today in fact."""
    made = facts(machine)
    made["version"]["added_at"] = ago(days=900).isoformat()
    return made


def due(
    machine: Machine, verdict: str | None = "protected", now: datetime = NOW
) -> tuple[Due, ...]:
    return due_of(kept(machine), now, verdict=verdict)


def state(machine: Machine, verdict: str | None = "protected", now: datetime = NOW) -> str:
    return state_of(kept(machine), now, verdict=verdict).state


def test_nothing_is_due_on_a_machine_that_was_looked_after(sound: Machine) -> None:
    assert due(sound) == ()
    assert state(sound) == "protected"


def test_of_an_empty_log_it_says_what_to_enter(machine: Machine) -> None:
    found = due(machine)
    assert [(one.what, one.urgency, one.mend) for one in found] == [
        ("daily check", BEFORE_WORK, "daily check"),
        ("pawl gaps", SOON, "adjustment"),
        ("stop time", SOON, "stop time"),
    ]
    assert "the lower and the upper pawls" in found[1].sentence
    assert state(machine) == "doubtful"


def test_a_check_is_over_time_a_day_after_it_passed(sound: Machine) -> None:
    passed = ago(hours=5)
    assert due(sound, now=passed + timedelta(hours=24)) == ()
    (late,) = due(sound, now=passed + timedelta(hours=24, minutes=1))
    assert (late.urgency, late.since) == (BEFORE_WORK, passed + timedelta(hours=24))
    assert "24 h ago (no plan entered, so every 24 h of work)" in late.sentence
    assert state(sound, now=passed + timedelta(hours=25)) == "doubtful"


def test_the_plan_says_when_it_is_over_time(sound: Machine) -> None:
    write(sound, "plan", {"check_every_s": 3 * 3600.0}, ago(hours=4))
    (late,) = due(sound)
    assert "plan: every 3 h" in late.sentence


def test_a_failed_check_stands_until_one_passes(sound: Machine) -> None:
    write(sound, "daily check", NO_TRIP, ago(hours=2))
    (found,) = due(sound)
    assert (found.urgency, found.mend) == (MEND_FIRST, "daily check")
    assert "it did not trip" in found.sentence
    assert state(sound) == "not"
    write(sound, "daily check", GOOD, ago(hours=1))
    assert (due(sound), state(sound)) == ((), "protected")


def test_a_correction_of_a_failed_check_mends_the_state(sound: Machine) -> None:
    wrong = write(
        sound, "daily check", {"tripped": True, "reset": True, "lamps/key on": False}, ago(hours=2)
    )
    assert state(sound) == "not"
    assert "at: key on" in due(sound)[0].sentence
    write(sound, "daily check", GOOD, ago(hours=2), corrects=wrong)
    assert state(sound) == "protected"


def test_a_check_that_was_not_finished_counts_neither_way(machine: Machine) -> None:
    write(machine, "daily check", {"tripped": True}, ago(hours=1))
    assert due(machine)[0].sentence == "The daily check was begun and never finished."
    assert state(machine) == "doubtful"


def test_missed_metal_is_not_mended_by_a_check_alone(sound: Machine) -> None:
    missed = {"found": "tool", "why": "too late"}
    write(sound, "missed metal", missed, ago(hours=4))
    (found,) = due(sound)
    assert (found.urgency, state(sound)) == (MEND_FIRST, "not")
    assert "tripped too late" in found.sentence
    write(sound, "daily check", GOOD, ago(hours=3))
    assert state(sound) == "doubtful"
    assert "does not say that such metal would be stopped" in due(sound)[0].sentence
    write(sound, "part replaced", {"part": "Relay R2"}, ago(hours=2))
    assert [one.what for one in due(sound)] == ["check after work"]
    assert "Relay R2 was replaced" in due(sound)[0].sentence
    write(sound, "daily check", GOOD, ago(hours=1))
    assert (due(sound), state(sound)) == ((), "protected")


def test_after_missed_metal_and_work_a_check_is_asked_for_first(sound: Machine) -> None:
    write(sound, "missed metal", {"found": "tool", "why": "not seen"}, ago(hours=4))
    write(sound, "part replaced", {"part": "Relay R2"}, ago(hours=3))
    assert [(d.what, d.urgency, d.mend) for d in due(sound)] == [
        ("missed metal", MEND_FIRST, "daily check"),
        ("check after work", BEFORE_WORK, "daily check"),
    ]
    assert state(sound) == "not"


def test_a_new_version_of_the_file_counts_as_work_after_missed_metal(sound: Machine) -> None:
    write(sound, "missed metal", {"found": "tool", "why": "too late"}, ago(hours=4))
    write(sound, "daily check", GOOD, ago(hours=1))
    made = kept(sound)
    made["version"] = {"number": 2, "added_at": ago(hours=3).isoformat()}
    assert due_of(made, NOW, verdict="protected") == ()
    # The first version is no change, whenever it came in.
    made["version"]["number"] = 1
    assert [one.what for one in due_of(made, NOW, verdict="protected")] == ["missed metal"]


def test_a_fault_that_is_looked_for_is_due_first_and_the_machine_is_not_protected(
    sound: Machine,
) -> None:
    assert state(sound) == "protected"
    case = FaultCase.objects.create(
        machine=sound, version=newest_version(sound), begun_by_name="Ann",
        complaint="trips on nothing", begun_at=ago(hours=2),
    )  # fmt: skip
    refresh(sound)
    first = due(sound)[0]
    assert (first.what, first.urgency) == ("open case", MEND_FIRST)
    assert "trips on nothing" in first.sentence
    assert state(sound) == "not"
    case.status = "handed over"
    case.save()
    refresh(sound)
    assert "handed over" in due(sound)[0].sentence
    write(sound, "daily check", GOOD, ago(hours=1))
    assert state(sound) == "protected"
    case.status = "closed"
    case.save()
    refresh(sound)
    assert due(sound) == ()


def test_gaps_measured_and_not_changed_ask_for_no_check(sound: Machine) -> None:
    write(sound, "adjustment", SOUND_GAPS, ago(hours=1))
    assert due(sound) == ()
    write(sound, "adjustment", {**SOUND_GAPS, "gap_before_m/lower": 0.0046}, ago(minutes=30))
    assert [one.what for one in due(sound)] == ["check after work"]


def test_a_gap_outside_the_window_is_said_with_its_harm(sound: Machine) -> None:
    write(sound, "adjustment", {"gap_before_m/upper": 0.0061}, ago(hours=1))
    (found,) = due(sound)
    assert "upper pawl was left at 6.1 mm" in found.sentence
    assert "outside 2.5 mm to 5 mm: it hits late" in found.sentence
    assert state(sound) == "doubtful"
    write(sound, "adjustment", {"gap_before_m/upper": 0.00504, "feeler_m": 0.0001}, ago(minutes=5))
    assert "half a step of the gauge" in due(sound)[0].sentence
    assert (
        "0.2402 in"
        in due_of(_with_gap(kept(sound), 0.0061), NOW, verdict="protected", us=True)[0].sentence
    )


def _with_gap(made: dict[str, Any], gap: float) -> dict[str, Any]:
    made["gaps"]["upper"]["m"] = gap
    return made


def test_what_was_measured_too_long_ago_is_due_again(sound: Machine) -> None:
    later = NOW + timedelta(days=80)
    assert [one.what for one in due(sound, now=later)] == ["daily check", "pawl gaps", "stop time"]
    sentence = due(sound, now=later)[2].sentence
    assert sentence.endswith("100 d ago (every 90 d).")


def test_a_stop_time_beyond_its_limit(sound: Machine) -> None:
    write(sound, "stop time", {"stop_time_s": 0.071}, ago(hours=1))
    (found,) = due(sound)
    assert "71 ms" in found.sentence
    assert "60 ms allowed" in found.sentence
    assert state(sound) == "doubtful"


@pytest.mark.parametrize(
    ("verdict", "stands", "urgency"),
    [
        ("protected", "protected", None),
        ("doubtful", "doubtful", SOON),
        ("not protected", "not", MEND_FIRST),
        ("not known", "not known", SOON),
        (None, "not known", SOON),
    ],
)
def test_protected_takes_both_calculation_and_log(
    sound: Machine, verdict: str | None, stands: str, urgency: int | None
) -> None:
    assert state(sound, verdict) == stands
    assert [one.urgency for one in due(sound, verdict)] == ([urgency] if urgency else [])
    write(sound, "daily check", NO_TRIP, ago(hours=1))
    assert state(sound, verdict) == "not"


def test_the_reasons_that_make_the_state_come_first(sound: Machine) -> None:
    write(sound, "daily check", NO_TRIP, ago(hours=1))
    found = state_of(kept(sound), NOW, verdict="doubtful", proved_at=ago(days=1))
    assert found.reasons[0] == "The check of 2026-06-01 failed: it did not trip."
    assert found.reasons[1] == (
        "By calculation its protection is doubtful (version 1 of its file, worked out 2026-05-31)."
    )


def test_a_machine_without_pawls_limits_or_circuit_has_no_gaps_due(records: str) -> None:
    machine = new_machine(BARE)
    assert [one.what for one in due(machine)] == ["daily check", "stop time"]
    write(machine, "stop time", {"stop_time_s": 0.09}, ago(hours=1))
    assert "60 ms allowed, assumed" in due(machine)[1].sentence


def test_an_entry_that_lies_in_the_future_proves_nothing(machine: Machine) -> None:
    # Not written but put there: the log refuses such a time, but a server's own clock may go wrong.
    at = NOW + timedelta(days=3)
    Entry.objects.create(machine=machine, uid=uuid4(), kind="daily check", at=at, values=GOOD)
    write(machine, "stop time", {"stop_time_s": 0.05}, ago(days=1))
    found = {one.what: one for one in due(machine)}
    assert found["daily check"].urgency == BEFORE_WORK
    assert "lies in the future and does not count" in found["clock"].sentence
    assert state(machine) == "doubtful"


def test_a_clock_that_was_ahead_does_not_make_a_check_younger(sound: Machine) -> None:
    write(sound, "daily check", GOOD, ago(minutes=10), clock_ahead_s=30 * 3600.0)
    found = {one.what: one for one in due(sound)}
    assert "from a clock that was 30 h ahead" in found["clock"].sentence
    assert "30 h ago" in found["daily check"].sentence


def test_a_clock_that_was_behind_is_said(sound: Machine) -> None:
    write(sound, "daily check", GOOD, ago(hours=1), clock_ahead_s=-5 * 86400.0)
    assert "from a clock that was 5 d behind" in due(sound)[0].sentence


def test_a_proof_is_worked_out_once_and_kept(records: str) -> None:
    version = new_machine().versions.get()
    assert kept_proof(version) is None
    first = proof_of(version)
    assert (first.verdict, first.program) == ("not known", PROGRAM)
    assert first.summary["needs"]
    assert "protection_map" not in first.summary
    assert proof_of(version).proved_at == first.proved_at
    VersionProof.objects.update(program="tripmargin 0.0.1")
    assert proof_of(version).proved_at > first.proved_at
    assert VersionProof.objects.count() == 1


def test_why_a_proof_is_so_is_kept_in_every_language(records: str) -> None:
    with speaking("de"):
        kept = proof_of(new_machine().versions.get()).summary
    for said in (kept["because"], kept["because_us"]):
        assert set(said) == set(known_languages())
        assert said["en"]
        assert said["en"] != said["de"]
