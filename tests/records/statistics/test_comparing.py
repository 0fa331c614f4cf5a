"""Then and lately: no change is no sign, and figures that cannot be are refused."""

from __future__ import annotations

import json
from itertools import pairwise
from math import inf, nan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.records.statistics import FigureError, rate_change, share_fell

counted = st.tuples(st.integers(0, 200), st.floats(0.1, 1e6))
tried = st.integers(0, 300).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(before=counted, lately=counted)
def test_the_ratio_lies_within_its_limits_and_turns_over_with_its_sides(
    before: tuple[int, float], lately: tuple[int, float]
) -> None:
    change, back = rate_change(before, lately), rate_change(lately, before)
    assert 0 <= change.chance <= 1
    assert 0 <= change.ratio.low <= change.ratio.high
    if change.ratio.value is not None:
        assert change.ratio.low * (1 - 1e-9) <= change.ratio.value
        assert change.ratio.value <= change.ratio.high * (1 + 1e-9)
    if change.ratio.low > 0:
        assert back.ratio.high == pytest.approx(1 / change.ratio.low, rel=1e-6)


@given(before=counted, events=st.integers(0, 100), exposure=st.floats(0.1, 1e6))
def test_one_event_more_is_never_likelier(
    before: tuple[int, float], events: int, exposure: float
) -> None:
    fewer = rate_change(before, (events, exposure)).chance
    assert rate_change(before, (events + 1, exposure)).chance <= fewer + 1e-12


def test_where_nothing_came_there_is_nothing_to_say() -> None:
    quiet = rate_change((0, 10.0), (0, 10.0))
    assert (quiet.chance, quiet.ratio.value, quiet.ratio.low, quiet.ratio.high) == (1, None, 0, inf)
    first = rate_change((0, 10.0), (3, 10.0))
    assert (first.chance, first.ratio.value, first.ratio.high) == (0.125, None, inf)
    gone = rate_change((3, 10.0), (0, 10.0))
    assert (gone.chance, gone.ratio.value, gone.ratio.low) == (1.0, 0.0, 0.0)
    assert json.loads(json.dumps(first.to_dict(), allow_nan=False))["ratio"]["high"] is None


@given(before=tried, lately=tried)
def test_a_chance_is_a_chance(before: tuple[int, int], lately: tuple[int, int]) -> None:
    chance = share_fell(before, lately)
    assert 0 <= chance <= 1
    if lately[0] == lately[1] or before[1] == 0:
        assert chance == 1.0


@given(before=tried, trials=st.integers(1, 200))
def test_one_success_fewer_is_never_likelier(before: tuple[int, int], trials: int) -> None:
    chances = [share_fell(before, (s, trials)) for s in range(trials + 1)]
    assert all(a <= b + 1e-9 for a, b in pairwise(chances))


def test_a_very_sure_fall_does_not_round_to_never() -> None:
    assert 0 < share_fell((3000, 3000), (0, 60)) < 1e-100


BAD: list[Any] = [
    lambda: rate_change((1, 0.0), (1, 1.0)),
    lambda: rate_change((1, 1.0), (1, -1.0)),
    lambda: rate_change((1, 1.0), (1, nan)),
    lambda: rate_change((1.5, 1.0), (1, 1.0)),  # type: ignore[arg-type]
    lambda: rate_change((-1, 1.0), (1, 1.0)),
    lambda: rate_change((1, 1.0), (1, 1.0), confidence=1.0),
    lambda: rate_change((0, 1.0), (0, 1.0), confidence=1.0),
    lambda: rate_change(3, (1, 1.0)),  # type: ignore[arg-type]
    lambda: share_fell((3, 2), (1, 1)),
    lambda: share_fell((1, 2), (1, -1)),
    lambda: share_fell((1, 2), (1, 2, 3)),  # type: ignore[arg-type]
]


@pytest.mark.parametrize("ask", BAD)
def test_figures_that_cannot_be_are_refused(ask: Any) -> None:
    with pytest.raises(FigureError, match="Allowed: "):
        ask()
