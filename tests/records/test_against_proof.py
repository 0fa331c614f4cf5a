"""Where metal lay against where the calculation puts it. Values invented."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from tripmargin.records.keeping.entries import NewEntry, newest_version, write_entry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.standing.against_proof import closer_than_calculated, closer_trips
from tripmargin.records.store.models import VersionProof
from tripmargin.reports.paper.trials import state_by_log_of

AT = datetime(2026, 5, 4, 9, tzinfo=UTC)
PASSED = {"tripped": True, "reset": True}
SUMMARY = {
    "cuts": [
        {"cut_length_m": 0.006, "margin_m": {"nominal": 0.27, "low": 0.18, "high": 0.32}},
        {"cut_length_m": 0.019, "margin_m": {"nominal": 0.10, "low": 0.05, "high": 0.15}},
        {"cut_length_m": 0.025, "margin_m": None},
    ]
}


@pytest.mark.parametrize(
    ("values", "closer"),
    [
        ({"left_m": 0.10, "cut_length_m": 0.006}, True),
        ({"left_m": 0.10, "cut_length_m": 0.0063}, True),
        ({"left_m": 0.18, "cut_length_m": 0.006}, False),
        ({"left_m": 0.40, "cut_length_m": 0.006}, False),
        ({"left_m": 0.10, "cut_length_m": 0.019}, False),
        ({"left_m": -0.02, "cut_length_m": 0.019}, True),
        ({"left_m": 0.01, "cut_length_m": 0.025}, False),  # nothing is calculated there
        ({"left_m": 0.01, "cut_length_m": 0.012}, False),
        ({"left_m": 0.10}, False),  # at 19 mm it may be so
        ({"left_m": 0.04}, True),
        ({"cut_length_m": 0.006}, False),
    ],
)
def test_what_lay_closer_than_the_least_calculated_is_told(
    values: dict[str, Any], closer: bool
) -> None:
    found = closer_than_calculated(AT, values, SUMMARY)
    assert (found is not None) == closer
    assert closer_than_calculated(AT, values, {}) is None


def test_it_is_told_with_all_its_numbers() -> None:
    found = closer_than_calculated(AT, {"left_m": 0.1, "cut_length_m": 0.006}, SUMMARY)
    assert found is not None
    assert found.words().startswith(
        "On 2026-05-04 the metal lay 100 mm from the shear bar. By calculation it is 180 mm to"
        " 320 mm at 6 mm."
    )
    assert "3.937 in" in found.words(us=True)


def test_trips_in_force_are_held_against_the_version_of_their_time(records: str) -> None:
    machine = add_demo_machine("dunlin")
    version = newest_version(machine)
    VersionProof.objects.create(
        version=version, verdict="protected", summary=SUMMARY, program="test"
    )
    write_entry(machine, NewEntry(kind="daily check", values=PASSED))
    near = {"found": "wire", "left_m": 0.1, "cut_length_m": 0.006}
    wrong = write_entry(machine, NewEntry(kind="trip", values=near)).entry
    assert [one.left for one in closer_trips(machine)] == [0.1]
    machine.refresh_from_db()
    by_log = state_by_log_of(machine, datetime.now(UTC), us=True)
    assert (by_log.state, by_log.is_against) == ("doubtful", True)
    assert len(by_log.reasons) == 2  # and that the check passed
    assert "the metal lay 3.937 in from the shear bar" in by_log.reasons[0]
    right = near | {"left_m": 0.2}
    write_entry(machine, NewEntry(kind="trip", values=right, corrects=wrong))
    assert closer_trips(machine) == ()
    machine.refresh_from_db()
    assert not state_by_log_of(machine, datetime.now(UTC)).is_against
