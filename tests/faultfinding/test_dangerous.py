"""Which dangerous faults the daily check reveals, against coverage and the fault tables."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.faultfinding.charting import coverage_of, problem_of
from tripmargin.faultfinding.charts.dangerous import dangerous_coverage
from tripmargin.faultfinding.charts.effects import STOPPED
from tripmargin.ground.errors import NotKnownError


@pytest.mark.parametrize("name", ["whimbrel", "dunlin"])
def test_with_lamps_it_is_what_coverage_says_of_the_dangerous_faults(name: str) -> None:
    found, known = dangerous_coverage(problem_of(name)), coverage_of(name)
    dangerous = [fault for fault in known.faults if fault.metal != STOPPED]
    shown = [fault for fault in dangerous if known.daily in fault.paths]
    rate = sum(fault.rate for fault in dangerous)
    assert found.faults == len(dangerous)
    assert found.rate == pytest.approx(rate)
    assert 0 < sum(fault.rate for fault in shown) < rate
    assert found.with_lamps == pytest.approx(sum(fault.rate for fault in shown) / rate)
    left = [fault.text for fault in dangerous if fault not in shown]
    assert set(found.leaves_open) <= set(left)
    rates = {fault.text: fault.rate for fault in dangerous}
    told = [rates[text] for text in found.leaves_open]
    assert told == sorted(told, reverse=True)
    assert told[0] == max(rates[text] for text in left)


def test_tripping_and_resetting_alone_is_what_the_rolls_do() -> None:
    of = problem_of()
    path = next(each for each in of.checks.paths if each.name == of.checks.daily)
    names = [state.name for state in of.states]
    dangerous = {fault.id: fault for fault in coverage_of().faults if fault.metal != STOPPED}
    shown = set()
    for state in path.states:
        table = of.shown.tables[names.index(state)]
        rolls = table.words[:, -1, table.columns.index("rolls")]
        shown |= {name for name, word in zip(table.faults, rolls, strict=True) if word != rolls[0]}
    rate = sum(fault.rate for name, fault in dangerous.items() if name in shown)
    found = dangerous_coverage(of)
    assert found.by_feed == pytest.approx(rate / found.rate)
    assert found.by_feed <= found.with_lamps


def test_lamps_that_nobody_watches_find_nothing() -> None:
    of = problem_of()
    daily = next(each for each in of.checks.paths if each.name == of.checks.daily)
    blind = replace(daily, watch=("rolls",))
    paths = tuple(blind if each is daily else each for each in of.checks.paths)
    found = dangerous_coverage(replace(of, checks=replace(of.checks, paths=paths)))
    assert found.with_lamps == found.by_feed


def test_a_machine_without_dangerous_faults_has_no_share() -> None:
    of = problem_of()
    sound = [each for each in of.hypotheses if not each.causes]
    none = replace(of, hypotheses=tuple(sound), invisible=())
    with pytest.raises(NotKnownError, match="dangerous"):
        dangerous_coverage(none)
