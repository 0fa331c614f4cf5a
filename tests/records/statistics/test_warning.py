"""Early warning: each sign with its evidence, the urgent first, false alarms as rare as stated."""

from __future__ import annotations

import json
from math import inf

import numpy as np
import pytest

from tripmargin.records.statistics import (
    FigureError,
    Rate,
    Series,
    Share,
    Thresholds,
    ewma,
    signs,
    trend,
)

HOUR, DAY = 3600.0, 86400.0
FALLEN = Share("the daily test", before=(118, 120), lately=(22, 30))
RISEN = Rate("false trips", before=(2, 400 * HOUR), lately=(9, 100 * HOUR))


def steps(size: float, count: int = 30) -> np.ndarray:
    """Stop times with a step up over the last five, s."""
    values = 0.120 + 0.002 * np.random.default_rng(5).standard_normal(count)
    values[-5:] += size
    return values


def wear(rate: float, count: int = 20) -> tuple[np.ndarray, np.ndarray]:
    """Clearances that wear opens, one a week, m; the rate is m a day."""
    times = 7 * DAY * np.arange(count)
    scatter = 0.05e-3 * np.random.default_rng(7).standard_normal(count)
    return times, 1.0e-3 + rate * times / DAY + scatter


def test_a_fallen_share_says_what_it_is_seen_by() -> None:
    (sign,) = signs(shares=[FALLEN])
    assert (sign.kind, sign.urgency, sign.what) == ("share", "now", "the daily test")
    assert sign.evidence == (
        "Lately 22 of 30 tests tripped (73.3 %), before that 118 of 120 (98.3 %)."
        " By chance alone so low a share comes about in 0.004 % of cases."
    )
    assert sign.due == inf
    assert signs(shares=[Share("the daily test", before=(118, 120), lately=(29, 30))]) == ()
    assert signs(shares=[Share("the daily test", before=(0, 0), lately=(0, 0))]) == ()


def test_a_risen_rate_says_what_it_is_seen_by() -> None:
    (sign,) = signs(rates=[RISEN])
    assert (sign.kind, sign.urgency) == ("rate", "watch")
    assert sign.evidence == (
        "Lately 9 false trips in 100 h (0.09 an hour), before that 2 in 400 h (0.005 an hour)."
        " That is 18 times as many (95 % interval: 3.7 to 170 times)."
        " By chance alone so many come in 0.002 % of cases."
    )
    first = signs(rates=[Rate("false trips", before=(0, 400 * HOUR), lately=(4, 100 * HOUR))])
    assert "times as many" not in first[0].evidence
    # fewer false trips than before are no warning
    assert signs(rates=[Rate("false trips", before=(9, 100 * HOUR), lately=(0, 400 * HOUR))]) == ()


def test_a_drift_says_what_it_is_seen_by_in_either_system_of_units() -> None:
    series = Series("the stop time", "time", drift=ewma(steps(0.012)))
    (sign,) = signs(series=[series])
    assert (sign.kind, sign.urgency) == ("drift", "watch")
    assert sign.evidence == (
        "The weighted average of the stop time is 129 ms, above its limit of 124 ms. Usual is"
        " 120 ms (mean of the first 10 values); the last value is 132 ms."
    )
    gap = Series("the clearance", "length", drift=ewma(0.01 * steps(0.012)))
    assert "0.0508 in" in signs(series=[gap], us=True)[0].evidence
    assert "1.29 mm" in signs(series=[gap])[0].evidence


def test_a_drift_counts_only_the_way_that_is_worse_and_while_it_is_fresh() -> None:
    better = ewma(steps(-0.012))
    assert better.signals
    assert signs(series=[Series("the stop time", "time", drift=better)]) == ()
    assert signs(series=[Series("the stop time", "time", drift=better, worse="down")])
    assert signs(series=[Series("the stop time", "time", drift=better, worse="either")])
    healed = np.r_[steps(0.012), 0.12 * np.ones(12)]
    past = ewma(healed)
    assert past.signals
    stale = [Series("the stop time", "time", drift=past)]
    assert signs(series=stale) == ()
    (sign,) = signs(series=stale, thresholds=Thresholds(recent=20))
    assert "values ago" in sign.evidence


def test_the_chance_of_a_drift_is_the_normal_tail_on_the_sides_that_count() -> None:
    # 3.5 and 5 standard deviations: tails 2.326e-4 and 2.867e-7, as tables have them
    for distance, tail in ((3.5, 2.326e-4), (5.0, 2.867e-7)):
        drift = ewma([0.12 + 0.001 * distance], target=0.12, sd=0.001, weight=1.0)
        for worse, sides in (("up", 1), ("either", 2)):
            (sign,) = signs(series=[Series("the stop time", "time", drift=drift, worse=worse)])
            assert sign.chance == pytest.approx(sides * tail, rel=1e-3)


def test_a_trend_says_when_its_limit_is_reached() -> None:
    found = trend(*wear(0.004e-3), limits=(None, 1.7e-3))
    (sign,) = signs(series=[Series("the clearance", "length", trend=found)])
    assert (sign.kind, sign.urgency) == ("trend", "soon")
    assert sign.evidence == (
        "The clearance rises by 0.111 mm in 30 days (95 % interval: 0.0973 mm to 0.124 mm)."
        " The line through 20 values reaches the limit of 1.7 mm in about 56 days"
        " (95 % interval: 42 days to 73 days)."
    )
    assert found.rises_above is not None
    assert found.now is not None
    assert sign.due == found.rises_above.time - found.now
    early = Thresholds(horizon=DAY)
    assert signs(series=[Series("the clearance", "length", trend=found)], thresholds=early) == ()


def test_a_limit_that_is_passed_comes_first() -> None:
    passed = trend(*wear(0.004e-3), limits=(None, 1.3e-3))
    falling = trend(*wear(-0.002e-3), limits=(0.6e-3, None))
    found = signs(
        shares=[FALLEN],
        rates=[RISEN],
        series=[
            Series("the travel", "length", trend=falling, worse="down"),
            Series("the stop time", "time", drift=ewma(steps(0.012))),
            Series("the clearance", "length", trend=passed),
        ],
    )
    kinds = [(sign.urgency, sign.kind) for sign in found]
    assert kinds[:3] == [("now", "limit"), ("now", "share"), ("soon", "trend")]
    assert sorted(kinds[3:]) == [("watch", "drift"), ("watch", "rate")]
    assert found[3].chance <= found[4].chance
    assert found[0].due == 0
    assert ", above the limit of 1.3 mm." in found[0].evidence
    for sign in found:
        made = sign.to_dict()
        assert json.loads(json.dumps(made, allow_nan=False)) == made
        assert set(made) == {"what", "kind", "urgency", "evidence", "chance", "due_in_s"}


def test_a_limit_that_may_be_passed_is_told_with_its_doubt() -> None:
    times, values = wear(0.0)
    found = trend(times, values, limits=(None, float(values.mean()) - 1e-6))
    assert found.line is not None
    limit = found.line.at(times[-1]) - 1e-6
    found = trend(times, values, limits=(None, limit))
    (sign,) = signs(series=[Series("the clearance", "length", trend=found)])
    assert (sign.kind, sign.urgency, sign.due) == ("limit", "soon", 0.0)
    assert sign.evidence.endswith("It may still be within it.")


def test_a_trend_that_may_never_come_says_the_soonest() -> None:
    found = trend(*wear(0.004e-3), limits=(None, 1.7e-3), confidence=0.9999999999999)
    assert found.rises_above is not None
    assert found.rises_above.latest == inf
    (sign,) = signs(series=[Series("the clearance", "length", trend=found)])
    assert "(over 99.999 % interval: now at the soonest)." in sign.evidence


def test_where_too_little_is_known_there_is_no_sign() -> None:
    few = Series("the stop time", "time", drift=ewma([0.1]), trend=trend([0], [0.1]))
    assert signs(series=[few, Series("the travel", "length")]) == ()
    assert signs() == ()


def sound_machine(rng: np.random.Generator) -> dict[str, object]:
    times = 7 * DAY * np.arange(40)
    stop = rng.normal(0.120, 0.003, 40)
    return {
        "shares": [
            Share("test", (int(rng.binomial(300, 0.97)), 300), (int(rng.binomial(40, 0.97)), 40))
        ],
        "rates": [
            Rate("false", (int(rng.poisson(12)), 6e6), (int(rng.poisson(2)), 1e6)),
        ],
        "series": [
            Series(
                "stop",
                "time",
                drift=ewma(stop),
                trend=trend(times, stop, limits=(0.115, 0.125)),
            )
        ],
    }


def test_sound_machines_raise_few_false_alarms() -> None:
    # By simulation, 3000 looks at sound machines: each kind at most as often as Thresholds says.
    rng = np.random.default_rng(99)
    # The horizon is long, so that every slope which would count comes to its limit within it.
    looks, by_kind = 3000, {"share": 0, "rate": 0, "drift": 0, "trend": 0, "limit": 0}
    asked = Thresholds(horizon=1e5 * DAY)
    for _ in range(looks):
        for sign in signs(**sound_machine(rng), thresholds=asked):  # type: ignore[arg-type]
            by_kind[sign.kind] += 1
    share = {kind: count / looks for kind, count in by_kind.items()}
    error = 3 * np.sqrt(0.01 / looks)
    assert share["share"] <= 0.01 + error
    assert share["rate"] <= 0.01 + error
    assert 0.01 - error <= share["trend"] <= 0.01 + error  # exact, not only at most
    assert share["limit"] == 0
    assert share["drift"] <= 1 / 150 + 3 * np.sqrt(1 / 150 / looks)
    assert min(by_kind[kind] for kind in ("share", "rate", "drift")) > 0  # it can raise an alarm


def test_looks_at_many_machines_share_the_chance_of_error() -> None:
    rng = np.random.default_rng(98)
    machines, alarms, rounds = 50, 0, 40
    asked = Thresholds(looks=3 * machines)
    for _ in range(rounds):
        fleet = [sound_machine(rng) for _ in range(machines)]
        found = [s for m in fleet for s in signs(**m, thresholds=asked)]  # type: ignore[arg-type]
        alarms += any(sign.kind != "drift" for sign in found)
    # at most one round in a hundred is wrong; more than three of forty would be one in 2000
    assert alarms <= 3


@pytest.mark.parametrize(
    "how",
    [{"chance": 0.0}, {"chance": 1.0}, {"looks": 0}, {"recent": 1.5}, {"horizon": -1.0}],
)
def test_thresholds_that_cannot_be_are_refused(how: dict[str, float]) -> None:
    with pytest.raises(FigureError, match="Allowed: "):
        Thresholds(**how)  # type: ignore[arg-type]


def test_a_series_of_an_unknown_kind_is_refused() -> None:
    with pytest.raises(FigureError, match='"length"'):
        Series("the travel", "distance")
    with pytest.raises(FigureError, match='"up", "down", "either"'):
        Series("the travel", "length", worse="left")


def test_a_count_that_cannot_be_is_refused_by_its_name() -> None:
    with pytest.raises(FigureError, match="lately, exposure = -1"):
        signs(rates=[Rate("false trips", before=(1, 10.0), lately=(1, -1.0))])
