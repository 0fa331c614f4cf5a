"""Facts kept at each entry: equal to what plain Python makes of all entries, in whatever order."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.records.standing_help import BARE, GOOD, NO_TRIP, NOW, ago, facts, new_machine, write
from tripmargin.records.standing.facts import facts_of
from tripmargin.records.standing.refreshing import refresh, refresh_all
from tripmargin.records.store.models import Entry, Machine, Standing

ODD_STEP = 'lamps/x": false, "tripped": true'
"""A step's name that looks like a value in the text of the JSON that it stands in."""


def entries_of(machine: Machine) -> list[Entry]:
    """Entries in force, newest first, found without a query's help."""
    every = list(Entry.objects.filter(machine=machine))
    corrected = {one.corrects_id for one in every}
    kept = [one for one in every if one.pk not in corrected and one.kind != "withdrawn"]
    return sorted(kept, key=lambda one: (one.at, one.pk), reverse=True)


def number(one: Entry | None) -> int | None:
    return None if one is None else one.pk


def plainly(machine: Machine) -> dict[str, Any]:
    """What the facts should be: the numbers of the entries, and the counts."""
    found = entries_of(machine)

    def first(kind: str, fits: Any = lambda v: True) -> Entry | None:
        return next((one for one in found if one.kind == kind and fits(one.values)), None)

    def bad(v: dict[str, Any]) -> bool:
        lamps = [value for key, value in v.items() if key.split("/")[0] == "lamps"]
        return v["tripped"] is False or v.get("reset") is False or False in lamps

    def good(v: dict[str, Any]) -> bool:
        return v["tripped"] is True and v.get("reset") is True and not bad(v)

    def moved(v: dict[str, Any]) -> bool:
        return any(
            abs(v.get(f"gap_before_m/{p}", -1.0) - v[f"gap_after_m/{p}"]) > 1e-6
            for p in ("lower", "upper")
            if f"gap_after_m/{p}" in v
        )

    def tells_of(pawl: str) -> Any:
        return lambda v: f"gap_before_m/{pawl}" in v or f"gap_after_m/{pawl}" in v

    gaps = {}
    for pawl in ("lower", "upper"):
        one = first("adjustment", tells_of(pawl))
        if one:
            left = one.values.get(f"gap_after_m/{pawl}", one.values.get(f"gap_before_m/{pawl}"))
            gaps[pawl] = (one.pk, left)
    work = [first("adjustment", moved), first("part replaced")]
    made: dict[str, Any] = {
        "last": number(found[0] if found else None),
        "check": number(first("daily check")),
        "passed": number(first("daily check", good)),
        "failed": number(first("daily check", bad)),
        "stop_time": number(first("stop time")),
        "part": number(first("part replaced")),
        "work": number(max((w for w in work if w), key=lambda w: (w.at, w.pk), default=None)),
        "trip": number(first("trip")),
        "false_trip": number(first("false trip")),
        "missed": number(first("missed metal")),
        "hours": number(next((one for one in found if "hours_s" in one.values), None)),
        "gaps": gaps,
    }
    if found:
        made["season"] = season_plainly(found, good)
    return made


def season_plainly(found: list[Entry], good: Any) -> dict[str, int]:
    to = found[0].at
    kept = [one for one in found if one.at > to - timedelta(days=365)]
    made = {}
    for tail, since in (("", timedelta(days=365)), ("_lately", timedelta(days=30))):
        inside = [one for one in kept if one.at > to - since]
        checks = [one.values for one in inside if one.kind == "daily check"]
        made |= {
            f"checks{tail}": len(checks),
            f"tripped{tail}": sum(v["tripped"] for v in checks),
            f"passed{tail}": sum(map(good, checks)),
            f"trips{tail}": sum(one.kind == "trip" for one in inside),
            f"false_trips{tail}": sum(one.kind == "false trip" for one in inside),
            f"missed{tail}": sum(one.kind == "missed metal" for one in inside),
        }
    return made


def seen(kept: dict[str, Any]) -> dict[str, Any]:
    """The same from facts."""
    slots = ("last", "check", "passed", "failed", "stop_time", "part", "work", "trip",
             "false_trip", "missed", "hours")  # fmt: skip
    made: dict[str, Any] = {slot: kept[slot] and kept[slot]["number"] for slot in slots}
    made["gaps"] = {pawl: (gap["number"], gap["m"]) for pawl, gap in kept["gaps"].items()}
    if kept["season"]:
        made["season"] = {k: v for k, v in kept["season"].items() if isinstance(v, int)}
    return made


maybe = st.none() | st.booleans()
gap = st.sampled_from([0.002, 0.0035, 0.0035004, 0.006])
checks = st.fixed_dictionaries(
    {"tripped": st.booleans()},
    optional={
        "reset": st.booleans(), "lamps": st.booleans(), "lamps/key on": st.booleans(),
        ODD_STEP: st.booleans(), "hours_s": st.sampled_from([0.0, 3600.0]),
    },
).map(lambda v: ("daily check", v))  # fmt: skip
adjustments = st.fixed_dictionaries(
    {"feeler_m": st.just(0.0001)},
    optional={f"gap_{w}_m/{p}": gap for w in ("before", "after") for p in ("lower", "upper")},
).map(lambda v: ("adjustment", v))
others = st.sampled_from([
    ("trip", {"found": "wire"}), ("false trip", {"searched": "no"}),
    ("missed metal", {"found": "tool", "why": "not seen"}),
    ("stop time", {"stop_time_s": 0.05, "hours_s": 7200.0}),
    ("part replaced", {"part": "false \"hours_s\": 1"}), ("note", {"text": '"hours_s": false'}),
    ("hours", {"hours_s": 10800.0}),
])  # fmt: skip
whens = st.sampled_from([0, 1, 1, 1, 2, 29, 30, 31, 364, 365, 366, 400])  # days ago; some alike
steps = st.lists(
    st.tuples(checks | adjustments | others, whens, st.none() | st.integers(0, 7), st.booleans()),
    max_size=10,
)


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(steps)
def test_facts_hang_on_what_is_in_the_log_and_not_on_how_it_came_there(
    records: str, steps: list[Any]
) -> None:
    machine = new_machine()
    written: list[Entry] = []
    for (kind, values), days, target, take_back in steps:
        free = [one for one in written if not one.corrected_by.exists()]
        corrects = free[target % len(free)] if target is not None and free else None
        if corrects is not None and take_back:
            kind, values = "withdrawn", {}
        written.append(write(machine, kind, values, ago(days=days), corrects=corrects))
    assert seen(facts(machine)) == plainly(machine)


def test_an_empty_log_has_facts_of_the_file_alone(records: str) -> None:
    kept = facts(new_machine())
    assert seen(kept) == {**dict.fromkeys(seen(kept)), "gaps": {}}
    assert kept["asked"] == {
        "pawls": ["lower", "upper"], "clearance_m": [0.0025, 0.005], "stop_time_s": 0.06,
        "assumed": [],
        "set_gaps_m": {"lower": [0.0035, 0.0035, 0.0035], "upper": [0.0035, 0.0035, 0.0035]},
    }  # fmt: skip
    assert kept["plan"]["assumed"] == ["check_every_s", "gaps_every_s", "stop_time_every_s"]


def test_the_newest_plan_stands_over_the_defaults(records: str) -> None:
    machine = new_machine()
    write(machine, "plan", {"check_every_s": 7200.0}, ago(days=2))
    write(machine, "plan", {"gaps_every_s": 14 * 86400.0}, ago(days=3))  # late: not in force
    assert facts(machine)["plan"] == {
        "check_every_s": 7200.0, "gaps_every_s": 7 * 86400.0, "stop_time_every_s": 90 * 86400.0,
        "assumed": ["gaps_every_s", "stop_time_every_s"],
    }  # fmt: skip


def test_a_file_without_pawls_or_limits_takes_the_logs_own_names(records: str) -> None:
    machine = new_machine(BARE)
    write(machine, "adjustment", {"gap_after_m/drive": 0.003}, ago(days=1))
    kept = facts(machine)
    assert kept["gaps"]["drive"]["m"] == 0.003
    assert kept["asked"]["pawls"] == []
    assert kept["asked"]["assumed"] == ["limits.clearance", "limits.stop_time"]


def test_facts_can_be_made_anew_from_the_log(records: str) -> None:
    machine = new_machine()
    write(machine, "daily check", NO_TRIP, ago(days=1))
    write(machine, "daily check", GOOD, ago(days=2))
    before = facts(machine)
    Standing.objects.update(facts={})
    assert refresh_all() == 1
    assert facts(machine) == before
    assert facts_of(machine, machine.versions.get()) == before


@pytest.fixture
def long_log(records: str) -> Machine:
    """Five years of daily checks, weekly gaps."""
    machine = new_machine()
    entries = []
    for day in range(1, 1751):
        at = NOW - timedelta(days=day)
        entries.append(Entry(machine=machine, kind="daily check", at=at, values=GOOD))
        if day % 7 == 0:
            values = {"gap_before_m/lower": 0.0035, "gap_after_m/lower": 0.0035}
            entries.append(Entry(machine=machine, kind="adjustment", at=at, values=values))
    Entry.objects.bulk_create(entries)
    return machine


def test_a_write_waits_for_five_queries_however_long_the_log(long_log: Machine) -> None:
    refresh(long_log)
    with CaptureQueriesContext(connection) as found:
        refresh(long_log)
    assert len(found) == 5, [q["sql"][:80] for q in found]
    assert seen(facts(long_log)) == plainly(long_log)


def test_a_late_entry_changes_only_what_it_is_the_newest_of(records: str) -> None:
    machine = new_machine()
    today = write(machine, "daily check", GOOD, ago(hours=1))
    before = facts(machine)
    write(machine, "daily check", NO_TRIP, ago(days=3))
    after = facts(machine)
    assert after["check"]["number"] == today.pk
    assert after["failed"]["what"] == "it did not trip"
    assert {k for k in before if before[k] != after[k]} == {"failed", "season"}


def at_of(kept: dict[str, Any], slot: str) -> datetime:
    return datetime.fromisoformat(kept[slot]["at"])


def test_times_come_back_to_the_microsecond_and_in_utc(records: str) -> None:
    machine = new_machine()
    at = ago(days=1) + timedelta(microseconds=123457)
    write(machine, "daily check", GOOD, at)
    assert at_of(facts(machine), "passed") == at


def test_a_step_named_like_a_wrong_answer_is_not_one(records: str) -> None:
    machine = new_machine()
    write(machine, "daily check", {**GOOD, ODD_STEP: True}, ago(days=1))
    assert facts(machine)["failed"] is None
    assert facts(machine)["passed"] is not None
    assert facts(machine)["season"]["passed"] == 1
    write(machine, "daily check", {**GOOD, ODD_STEP: False}, ago(hours=1))
    assert facts(machine)["failed"]["what"].startswith("lamps or buzzer were not as expected at: x")
    assert facts(machine)["season"]["passed"] == 1
