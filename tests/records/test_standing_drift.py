"""Drift from a log: planted changes are found, sound machines are rarely called."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from scipy import stats

from tests.records.standing_help import BARE, GOOD, NO_TRIP, NOW, ago, new_machine, write
from tripmargin.records.standing.asked import Asked
from tripmargin.records.standing.counted import LATELY_CHECKS
from tripmargin.records.standing.daily_coverage import CheckCoverage
from tripmargin.records.standing.drift import Drifting, drift_in, drift_of
from tripmargin.records.standing.drift_words import figures, trend_words
from tripmargin.records.standing.exposure import DAY, HOUR, exposure_of
from tripmargin.records.standing.log_rows import MOST, Log, Row, as_log, log_of

ASKED = Asked(("lower", "upper"), (0.0025, 0.005), 0.06, 0.33, ())
NO_ASK = Asked((), (0.0025, 0.005), 0.06, None, ("limits.clearance", "limits.stop_time"))
START = NOW.timestamp() - 300 * DAY


def season(seed: int, **planted: float) -> Log:
    """300 days of a machine that runs 5 h a day; what is planted grows from day 150 on.

    `wear`: m a day on the lower gap as found; `slower`: s a day of stop time; `dull`: chance that a
    check of the last 30 days does not trip; `false`: times as many false trips in these; `creep`: m
    a day of travel.
    """
    of = np.random.default_rng(seed)
    rows = []
    for day in range(300):
        at, late = START + day * DAY, max(day - 150, 0)
        hours = 3600.0 * 5 * day
        dull = planted.get("dull", 0.0) if day >= 270 else 0.0
        tripped = bool(of.random() >= 0.002 + dull)
        check = {"tripped": tripped, "reset": True} if tripped else {"tripped": False}
        rows.append(Row("daily check", at, {**check, "hours_s": hours}))
        for _ in range(of.poisson(0.03 * (planted.get("false", 1.0) if day >= 270 else 1.0))):
            rows.append(Row("false trip", at + HOUR, {"searched": "quickly"}))
        if of.random() < 0.15:
            left = 0.15 + of.normal(0, 0.015) - planted.get("creep", 0.0) * late
            values = {"found": "wire", "left_m": left, "cut_length_m": 0.008}
            rows.append(Row("trip", at + 2 * HOUR, values))
        if day % 7 == 0:
            gaps = {}
            for pawl in ("lower", "upper"):
                wear = planted.get("wear", 0.0) * late if pawl == "lower" else 0.0
                found = round((3.5e-3 + of.normal(0, 1e-4) + wear) / 5e-5) * 5e-5
                gaps |= {f"gap_before_m/{pawl}": found, f"gap_after_m/{pawl}": found}
            rows.append(Row("adjustment", at + 3 * HOUR, {**gaps, "feeler_m": 5e-5}))
        if day % 15 == 0:
            time = 0.05 + of.normal(0, 1e-3) + planted.get("slower", 0.0) * late
            rows.append(Row("stop time", at + 4 * HOUR, {"stop_time_s": time, "sd_s": 5e-4}))
    return Log(tuple(sorted(rows, key=lambda row: row.time)))


def drift(log: Log, asked: Asked | None = ASKED) -> Drifting:
    return drift_in(log, asked, NOW, name="Knot")


def called(found: Drifting) -> set[tuple[str, str]]:
    return {(sign.what, sign.kind) for sign in found.signs}


PLANTED = [
    ({"wear": 1.2e-5}, "the gap of the lower pawl as found"),
    ({"slower": 6e-5}, "the stop time"),
    ({"dull": 0.25}, "daily check"),
    ({"false": 12.0}, "false trips"),
    ({"creep": 6e-4}, "the metal's travel"),
]


@pytest.mark.parametrize(("planted", "what"), PLANTED)
def test_a_planted_change_is_found_and_nothing_else_is_named(
    planted: dict[str, float], what: str
) -> None:
    found = [{name for name, _ in called(drift(season(seed, **planted)))} for seed in range(10)]
    assert sum(what in names for names in found) >= 9
    assert sum(len(names - {what}) for names in found) <= 2


def test_a_sound_machine_is_rarely_called() -> None:
    """At one look: 4 charts at 1 in 150 each and 1 in 100 for all else: under 4 % together.

    Counted here: seasons with any sign, of 150. Binomially, 13 or more would come with 4 % in less
    than one of 100 such counts.
    """
    flagged = sum(bool(drift(season(seed)).signs) for seed in range(1000, 1150))
    assert flagged <= int(stats.binom.ppf(0.99, 150, 0.04)), flagged


def test_a_worn_gap_says_when_it_meets_its_limit() -> None:
    found = drift(season(3, wear=8e-6))
    lower = found.measured[1]
    # 8 um a day from day 150, on 3.5 mm: 4.7 mm on day 300, 5 mm on day 338, 38 days from now
    assert lower.trend.rises_above is not None
    assert 20 < (lower.trend.rises_above.time - NOW.timestamp()) / DAY < 60
    words = trend_words(lower)
    assert "meets the upper limit of 5 mm in about" in words
    assert "in 30 days (95 % interval:" in words


def test_the_trend_of_a_gap_begins_where_it_was_set_anew() -> None:
    rows = [
        Row(
            "adjustment",
            START + 7 * k * DAY,
            {"gap_before_m/lower": 3.0e-3 + 1e-4 * (k if k < 10 else k - 9)},
        )
        for k in range(20)
    ]
    set_anew = {"gap_before_m/lower": 3.9e-3, "gap_after_m/lower": 3.0e-3}
    rows[9] = Row("adjustment", rows[9].time, set_anew)
    (lower,) = (one for one in drift(Log(tuple(rows))).measured if one.key == "gap lower")
    assert lower.trend_since == rows[9].time
    assert lower.trend.count == 11
    assert lower.trend.slope is not None
    # 0.1 mm a week as planted
    assert lower.trend.slope.value == pytest.approx(1e-4 / (7 * DAY), rel=1e-3)


def test_numbers_are_those_of_the_statistics_by_hand() -> None:
    found = drift(season(5))
    checks = season(5).of("daily check")
    tripped = sum(row.values["tripped"] for row in checks)
    # Clopper and Pearson by scipy
    by_scipy = stats.binomtest(tripped, len(checks)).proportion_ci(0.95, "exact")
    assert (found.checks.interval.low, found.checks.interval.high) == pytest.approx(by_scipy)
    # Garwood: chi-square quantiles over twice the exposure; the meter ran 5 h x 299 days
    false = len(season(5).of("false trip"))
    last = START + 299 * DAY
    inside = sum(row.time <= last for row in season(5).of("false trip"))
    hours = 5 * 299
    high = stats.chi2.ppf(0.975, 2 * inside + 2) / 2 / hours
    assert found.false_trips.interval.high * HOUR == pytest.approx(high)
    assert found.false_trips.tried == pytest.approx(hours * HOUR)
    assert (false - inside) in (0, 1)


def test_every_figure_has_unit_interval_and_origin() -> None:
    told = {one.name: one for one in figures(drift(season(7)))}
    assert list(told) == [
        "Daily checks that tripped", "Trips", "False trips", "Stop time",
        "Gap of the lower pawl as found", "Gap of the upper pawl as found", "Metal's travel",
        "Failure on demand",
    ]  # fmt: skip
    for one in told.values():
        assert "interval" in one.interval or "95 %" in one.interval, one
        assert one.source.startswith(("from", "the last value", "the line through")), one
    assert "from 300 checks since 2025-08-05" in told["Daily checks that tripped"].source
    assert "per running hour" in told["False trips"].value
    assert told["Stop time"].value.endswith("ms")
    inches = {one.name: one for one in figures(drift(season(7)), us=True)}
    assert inches["Metal's travel"].value.endswith("in")


def test_without_an_hour_meter_it_counts_by_the_day_and_says_so() -> None:
    log = season(1, false=12.0)
    rows = [
        replace(row, values={k: v for k, v in row.values.items() if k != "hours_s"})
        for row in log.rows
    ]
    found = drift(Log(tuple(rows)))
    assert not found.exposure.by_meter
    (sign,) = (one for one in found.signs if one.kind == "rate")
    assert "hours of the calendar" in sign.evidence
    told = {one.name: one for one in figures(found)}["False trips"]
    assert "per day" in told.value
    assert "No hour-meter readings" in told.notes[0]


def test_an_hour_meter_that_goes_backwards_loses_no_hours_before_and_after() -> None:
    readings = [(0, 100.0), (1, 105.0), (2, 3.0), (3, 8.0)]  # changed between day 1 and day 2
    rows = tuple(Row("hours", START + d * DAY, {"hours_s": h * HOUR}) for d, h in readings)
    exposure = exposure_of(Log(rows))
    assert exposure.total == 10 * HOUR
    assert exposure.between(START + 0.5 * DAY, START + 1.5 * DAY) == 2.5 * HOUR
    assert "went backwards" in exposure.notes[0]


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ([], ["No hour-meter readings yet"]),
        ([(0, 300.0)], ["Only one hour-meter reading yet"]),
        ([(0, 800.0), (1, 790.0)], ["went backwards once", "show no hours gained"]),
        ([(0, 300.0), (1, 300.0)], ["show no hours gained"]),
    ],
)
def test_it_says_why_the_hour_meter_is_no_clock(readings: list[Any], why: list[str]) -> None:
    rows = [Row("hours", START + d * DAY, {"hours_s": h * HOUR}) for d, h in readings]
    rows += [Row("note", START + d * DAY, {}) for d in (2, 3)]
    exposure = exposure_of(Log(tuple(rows)))
    assert not exposure.by_meter
    assert [part in note for part, note in zip(why, exposure.notes, strict=True)] == [True] * len(
        why
    )


def test_failure_on_demand_counts_a_fault_once_and_states_what_it_assumes() -> None:
    rows = [
        Row("daily check", START + k * DAY, {**GOOD, "hours_s": 5 * HOUR * k}) for k in range(101)
    ]
    for k in (40, 41, 42):  # one fault, looked at three times
        rows[k] = Row("daily check", rows[k].time, {**NO_TRIP, "hours_s": 5 * HOUR * k})
    rows.append(Row("missed metal", rows[70].time + HOUR, {"found": "tool", "why": "not seen"}))
    log = Log(tuple(sorted(rows, key=lambda row: row.time)))
    found = drift(log).demand
    assert (found.failures, found.checks) == (2, 101)
    assert found.found is not None
    # By hand: rate 2 in 500 h; check each 5 h finds 0.9, proof each 90 d of 5 h finds the rest:
    # rate (0.9 x 2.5 h + 0.1 x 225 h), the usual approximation of IEC 61508-6 (from memory)
    by_hand = 2 / 500 * (0.9 * 2.5 + 0.1 * 225)
    assert found.found.approximate.value == pytest.approx(by_hand)
    assert "assumed" in found.notes[0]
    sure = drift_in(log, ASKED, NOW, coverage=CheckCoverage(1.0, ("all of it",))).demand
    assert sure.found is not None
    assert sure.found.approximate.value == pytest.approx(2 / 500 * 2.5)
    assert sure.notes[0] == "all of it"


def test_the_share_compares_lately_with_before() -> None:
    found = drift(season(2, dull=0.25)).checks.lately
    assert found is not None
    assert (found.before[1], found.lately[1]) == (270, LATELY_CHECKS)


def test_travel_keeps_to_one_cut_length_and_says_so() -> None:
    rows = [
        Row("trip", START + k * DAY, {"found": "wire", "left_m": 0.2 - 0.1 * (k % 3 == 0),
                                      "cut_length_m": 0.02 if k % 3 == 0 else 0.008})
        for k in range(30)
    ]  # fmt: skip
    travel = drift(Log(tuple(rows))).measured[-1]
    assert travel.values == pytest.approx([0.13] * 20)
    assert "20 of 30 trips" in travel.notes[0]
    assert travel.limits == (None, 0.33)


def test_without_geometry_what_was_left_is_shown_itself() -> None:
    log = season(4, creep=6e-4)
    found = drift(log, NO_ASK)
    left = found.measured[-1]
    assert (left.key, left.worse, left.limits) == ("left", "down", (0.0, None))
    assert any("sensor_to_shear_bar" in note for note in left.notes)
    assert "the way left to the shear bar" in {name for name, _ in called(found)}
    # pawls by the log's own names where the file has none
    assert [one.key for one in found.measured[1:-1]] == ["gap lower", "gap upper"]


def test_a_new_part_begins_the_stop_time_anew() -> None:
    log = season(6)
    part = Row("part replaced", START + 200 * DAY, {"part": "plunger spring"})
    found = drift(Log(tuple(sorted((*log.rows, part), key=lambda row: row.time))))
    assert found.measured[0].trend_since == part.time
    assert len(found.measured[0].values) == 6  # days 210, 225, ... 285


def test_an_empty_log_says_too_few_and_breaks_nothing() -> None:
    for asked in (ASKED, NO_ASK, None):
        found = drift(Log(()), asked)
        assert found.signs == ()
        assert {one.value for one in figures(found)} == {"not known yet"}
        assert found.to_dict()["failure_on_demand"] is None


@pytest.mark.parametrize("many", [1, 2, 5])
def test_a_log_of_one_moment_breaks_nothing(many: int) -> None:
    every: list[tuple[str, dict[str, Any]]] = [
        ("daily check", {**GOOD, "hours_s": 3600.0}), ("trip", {"found": "wire", "left_m": 0.1}),
        ("false trip", {"searched": "no"}), ("stop time", {"stop_time_s": 0.05}),
        ("adjustment", {"gap_before_m/lower": 0.004}), ("part replaced", {"part": "x"}),
        ("missed metal", {"found": "tool", "why": "not known"}),
    ]  # fmt: skip
    rows = tuple(Row(kind, START, values) for kind, values in every for _ in range(many))
    found = drift(Log(rows))
    assert found.signs == ()
    assert len(figures(found)) == 8
    assert found.to_dict()


def test_entries_of_a_time_to_come_are_left_out_and_said() -> None:
    rows = [Row("daily check", (NOW + timedelta(days=d)).timestamp(), GOOD) for d in (3, -1, -2)]
    log = as_log(rows, NOW)
    assert len(log.rows) == 2
    assert log.notes == ("1 entry lies in the future and is left out: a clock was set wrong.",)
    many = as_log([Row("hours", START - k, {"hours_s": 0.0}) for k in range(MOST + 1)], NOW)
    assert len(many.rows) == MOST
    assert many.rows[-1].time == START  # the newest are kept


def test_only_entries_in_force_are_read(records: str) -> None:
    machine = new_machine()
    wrong = write(machine, "daily check", NO_TRIP, ago(days=2))
    write(machine, "daily check", GOOD, ago(days=2), corrects=wrong)
    gone = write(machine, "stop time", {"stop_time_s": 0.9}, ago(days=1))
    write(machine, "withdrawn", {}, ago(days=1), corrects=gone)
    write(machine, "note", {"text": "nothing to do with drift"}, ago(days=1))
    assert [row.values for row in log_of(machine, NOW).rows] == [GOOD]
    found = drift_of(machine, NOW)
    assert (found.name, found.checks.seen, found.measured[0].values) == (machine.name, 1, ())
    assert len(drift_of(new_machine(BARE), NOW).measured) == 2


def test_checks_written_down_seconds_apart_say_too_few_and_break_nothing() -> None:
    checks = tuple(
        Row("daily check", NOW.timestamp() - 3 + at, {"tripped": True, "reset": True})
        for at in (0.0, 2.0)
    )
    found = drift_in(Log(checks), ASKED, NOW)
    assert found.demand.found is None
    assert found.demand.because == "Too few to say: the daily checks lie only seconds apart."
