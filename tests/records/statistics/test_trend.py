"""Trend: slope, band and the time to a limit hold together; few values say nothing."""

from __future__ import annotations

import json
from math import inf, isinf, nan
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tripmargin.records.statistics import FigureError, trend

DAY = 86400.0


@st.composite
def fitted_series(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    count = draw(st.integers(5, 30))
    rng = np.random.default_rng(draw(st.integers(0, 10**6)))
    times = DAY * np.sort(rng.uniform(0, 200, count))
    slope = draw(st.floats(-1e-4, 1e-4)) / DAY
    return times, 0.12 + slope * times + rng.normal(0, draw(st.floats(1e-4, 0.01)), count)


@given(drawn=fitted_series(), order=st.randoms())
def test_the_order_of_the_values_does_not_matter(
    drawn: tuple[np.ndarray, np.ndarray], order: Any
) -> None:
    times, values = drawn
    places = list(range(times.size))
    order.shuffle(places)
    one, other = trend(times, values), trend(times[places], values[places])
    assert one.slope is not None
    assert other.slope is not None
    assert other.now == one.now == times.max()
    assert other.slope.low == pytest.approx(one.slope.low, rel=1e-9, abs=1e-16)


@given(drawn=fitted_series(), limit=st.floats(0.05, 0.3))
def test_a_limit_is_reached_where_the_line_and_its_band_are_at_it(
    drawn: tuple[np.ndarray, np.ndarray], limit: float
) -> None:
    found = trend(*drawn, limits=(None, limit))
    line, rises = found.line, found.rises_above
    assert line is not None
    assert rises is not None
    assert found.now is not None
    assert found.now <= rises.soonest <= rises.time <= rises.latest
    for time, edge in ((rises.soonest, 1), (rises.time, 0), (rises.latest, -1)):
        if isinf(time):
            # never: not there even after three thousand years
            assert line.at(1e11) + edge * line.half_width(1e11) < limit
        else:
            at = line.at(time) + edge * line.half_width(time)
            assert at >= limit - 1e-6 * abs(line.half_width(time)) - 1e-12
            if time > found.now:
                assert at == pytest.approx(limit, rel=1e-6)


@given(drawn=fitted_series(), limit=st.floats(0.05, 0.3))
def test_falling_to_a_limit_is_rising_in_a_mirror(
    drawn: tuple[np.ndarray, np.ndarray], limit: float
) -> None:
    times, values = drawn
    down = trend(times, values, limits=(limit, None)).falls_below
    up = trend(times, -values, limits=(None, -limit)).rises_above
    assert down is not None
    assert up is not None
    assert (down.time, down.soonest, down.latest) == (up.time, up.soonest, up.latest)


@given(drawn=fitted_series())
def test_more_confidence_asks_for_a_wider_stretch_of_time(
    drawn: tuple[np.ndarray, np.ndarray],
) -> None:
    narrow, wide = (
        trend(*drawn, limits=(None, 0.2), confidence=c).rises_above for c in (0.8, 0.99)
    )
    assert narrow is not None
    assert wide is not None
    assert wide.time == narrow.time
    assert wide.soonest <= narrow.soonest
    assert wide.latest >= narrow.latest


def test_a_line_that_stays_level_or_goes_away_never_comes() -> None:
    times = DAY * np.arange(10)
    values = 0.12 + 0.001 * np.array([1, -1, 1, -1, 1, 1, -1, 1, -1, 1])
    away = trend(times, values - 0.001 * np.arange(10), limits=(None, 0.2)).rises_above
    assert away is not None
    assert (away.time, away.latest) == (inf, inf)
    assert away.to_dict("s") == {
        "limit_s": 0.2,
        "time_s": None,
        "soonest_s": None,
        "latest_s": None,
    }
    # the pattern is the same read backwards, so that the line is level
    level = trend(times, values, limits=(0.05, 0.2))
    assert level.slope is not None
    assert level.slope.low < 0 < level.slope.high
    for each in (level.rises_above, level.falls_below):
        assert each is not None
        assert each.soonest < inf
        assert each.latest == inf
    assert level.chance == pytest.approx(0.5)


def test_what_is_beyond_its_limit_is_there_now() -> None:
    times = DAY * np.arange(8)
    values = 0.12 + 1e-3 * np.array([0, 1, 1, 3, 4, 4, 6, 7])
    beyond = trend(times, values, limits=(None, 0.1)).rises_above
    assert beyond is not None
    assert beyond.soonest == beyond.time == beyond.latest == times[-1]
    later = trend(times, values, limits=(None, 0.15), now=100 * DAY).rises_above
    assert later is not None
    assert later.time == 100 * DAY


def test_times_of_the_calendar_lose_nothing() -> None:
    # seconds since 1970, as a log has them
    times, values = DAY * np.arange(12), np.sin(np.arange(12)) + 0.3 * np.arange(12)
    near, far = (trend(times + start, values, limits=(None, 9.0)) for start in (0.0, 1.8e9))
    assert near.slope is not None
    assert far.slope is not None
    assert far.slope.value == pytest.approx(near.slope.value, rel=1e-12)
    assert near.rises_above is not None
    assert far.rises_above is not None
    assert far.rises_above.latest - 1.8e9 == pytest.approx(near.rises_above.latest, abs=0.01)


def test_doubtful_values_count_less_and_doubt_is_never_lost() -> None:
    times = DAY * np.arange(8)
    values = np.array([1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 5.0])
    u = np.array([0.05] * 7 + [10.0])
    weighed = trend(times, values, uncertainty=u)
    assert weighed.slope is not None
    assert weighed.slope.value == pytest.approx(0.1 / DAY, rel=0.01)
    # the seven lie on one line by luck: the interval is still that of their uncertainty
    assert weighed.residual_sd is not None
    assert weighed.residual_sd < 1
    assert weighed.line is not None
    assert weighed.line.scale == 1.0
    assert weighed.slope.high - weighed.slope.low > 2 * 0.05 / (7 * DAY)


@pytest.mark.parametrize(("count", "told"), [(0, "0 values"), (1, "1 value"), (4, "4 values")])
def test_too_few_values_say_so(count: int, told: str) -> None:
    found = trend(np.arange(count), np.arange(count), limits=(None, 9.0))
    assert found.because == f"Too few to say: {told}, at least 5 needed."
    assert (found.slope, found.rises_above, found.known) == (None, None, False)


def test_values_of_one_moment_have_no_trend() -> None:
    assert "one moment" in (trend([5.0] * 6, np.arange(6)).because or "")


def test_values_on_one_line_hide_their_scatter_until_the_uncertainty_is_given() -> None:
    times = DAY * np.arange(6)
    for values in (np.full(6, 0.12), 0.12 + 0.01 * np.arange(6)):
        assert "one line" in (trend(times, values).because or "")
        told = trend(times, values, uncertainty=0.001)
        assert told.known
        assert told.slope is not None
        assert told.slope.low < told.slope.high


def test_the_json_form_bears_the_units_in_its_keys() -> None:
    times = DAY * np.arange(6)
    made = trend(times, [1, 2, 2, 3, 3, 4], limits=(0.5, 9)).to_dict("m")
    assert json.loads(json.dumps(made, allow_nan=False)) == made
    assert set(made) == {
        "count",
        "now_s",
        "slope_m_per_s",
        "value_now_m",
        "falls_below",
        "rises_above",
        "chance",
        "residual_sd_m",
        "because",
    }
    assert made["rises_above"]["limit_m"] == 9
    assert trend([], []).to_dict()["slope_per_s"] is None


BAD: list[dict[str, Any]] = [
    {"times": [1.0, 2.0]},
    {"times": [1.0, 2.0, 3.0, 4.0, nan]},
    {"values": [1.0, 2.0, 3.0, 4.0, inf]},
    {"values": "12345"},
    {"limits": (3.0, 2.0)},
    {"limits": (2.0, 2.0)},
    {"limits": (nan, None)},
    {"limits": 3.0},
    {"limits": (1.0, 2.0, 3.0)},
    {"confidence": 1.0},
    {"confidence": 95},
    {"now": inf},
    {"uncertainty": -1.0},
    {"uncertainty": [1.0, 1.0]},
]


@pytest.mark.parametrize("how", BAD)
def test_figures_that_cannot_be_are_refused(how: dict[str, Any]) -> None:
    asked = {"times": [1.0, 2.0, 3.0, 4.0, 5.0], "values": [1.0, 2.0, 2.0, 3.0, 4.0]} | how
    with pytest.raises(FigureError, match="Allowed: "):
        trend(**asked)


@given(limit=st.floats(0.1, 1e3), slope=st.floats(-1.0, 1.0))
def test_a_band_that_just_closes_or_not_gives_no_false_time(limit: float, slope: float) -> None:
    # steepness near that at which the band's edge turns from never to some time: no root is lost
    from tripmargin.records.statistics import Line

    line = Line(0.0, 0.0, slope, 1.0, 10.0, 100.0, 8, 2.0)
    assume(line.half_width(0.0) < limit)
    for edge in (1, -1):
        time = line.rises_to(limit, 0.0, edge)
        times = np.linspace(0, 2e4, 4001)
        at = np.array([line.at(t) + edge * line.half_width(t) for t in times])
        if isinf(time):
            assert at.max() < limit * (1 + 1e-9)
        else:
            assert line.at(time) + edge * line.half_width(time) == pytest.approx(limit, rel=1e-6)
            assert np.all(at[times < time * (1 - 1e-6)] < limit)
