"""What is practised next: what went wrong comes back sooner."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from tests.faultfinding.problems import problem_of
from tripmargin import drills
from tripmargin.drills import DrillResult, repeating
from tripmargin.drills.repeating import BOXES

START = datetime(2026, 5, 4, 8, tzinfo=UTC)
DAY = timedelta(days=1)


def result(kind: str, points: float, days: float, machine: str = "Dunlin") -> DrillResult:
    score = drills.Score(points, (), 10.0, 10.0)
    when = (START + days * DAY).isoformat()
    return DrillResult(
        machine=machine, machine_mark="", seed=1, complaint="", fault=kind, said=kind, kind=kind,
        moves=(), best=(), score=score, when=when, name="Ann",
    )  # fmt: skip


def boxes(*results: DrillResult) -> dict[str, tuple[int, timedelta]]:
    return {each.kind: (each.box, each.due - START) for each in drills.practised(results)}


def test_well_goes_a_box_up_and_waits_twice_as_long() -> None:
    assert boxes(result("a", 90, 0)) == {"a": (2, 2 * DAY)}
    assert boxes(result("a", 90, 0), result("a", 80, 2)) == {"a": (3, 6 * DAY)}
    many = [result("a", 100, 0) for _ in range(9)]
    assert boxes(*many) == {"a": (BOXES, 2 ** (BOXES - 1) * DAY)}


def test_badly_goes_back_to_the_first_box_and_comes_tomorrow() -> None:
    assert boxes(result("a", 79.9, 0)) == {"a": (1, DAY)}
    up = [result("a", 95, day) for day in (0, 2, 6)]
    assert boxes(*up, result("a", 20, 14)) == {"a": (1, 15 * DAY)}


def test_what_went_wrong_comes_before_what_went_well() -> None:
    results = [result("well", 95, 0), result("wrong", 30, 0.5)]
    assert drills.practise_next(results, now=START + DAY) is None
    due = drills.practise_next(results, now=START + 1.6 * DAY)
    assert due is not None
    assert due.kind == "wrong"
    assert [each.kind for each in drills.practised(results)] == ["wrong", "well"]
    assert due.to_dict()["box"] == 1


def test_the_order_in_which_results_are_given_does_not_matter() -> None:
    results = [result("a", 90, 0), result("a", 20, 2), result("a", 85, 3)]
    assert boxes(*results) == boxes(*reversed(results)) == {"a": (2, 5 * DAY)}


def test_machines_are_kept_apart_and_times_without_a_zone_are_taken_as_utc() -> None:
    one, two = result("a", 20, 0), result("a", 95, 0, machine="Curlew")
    naive = replace(one, when="2026-05-04T08:00:00")
    found = {each.machine: each.due - START for each in drills.practised([naive, two])}
    assert found == {"Dunlin": DAY, "Curlew": 2 * DAY}


def test_another_drill_of_the_same_kind_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    of = problem_of("dunlin")
    first = drills.drill(of, seed=3)
    kind = "trip latched:open"
    assert first.fault.id == kind
    seed = drills.seed_for(of, kind, after=3)
    assert seed is not None
    assert seed > 3
    assert drills.drill(of, seed=seed).fault.id == kind
    monkeypatch.setattr(repeating, "MOST_SEEDS", 5)
    assert drills.seed_for(of, "no such fault") is None


def test_nothing_was_practised_nothing_is_due() -> None:
    assert drills.practise_next([], now=START) is None
    with pytest.raises(ValueError, match="Invalid isoformat"):
        drills.practised([replace(result("a", 1, 0), when="yesterday")])
