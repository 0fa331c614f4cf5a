"""From figures of drift to their pictures and the tables behind them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from math import isfinite

from tripmargin.ground.units import DIMENSIONS, percent, shown
from tripmargin.pictures.drift_chart import DriftChart, Mark, drift_chart_picture, marks_from
from tripmargin.records.standing.counted import Bin, Counted
from tripmargin.records.standing.drift import Drifting
from tripmargin.records.standing.drift_words import (
    Told,
    measured_told,
    plain,
    rate_told,
    share_told,
    trend_words,
)
from tripmargin.records.standing.exposure import Exposure
from tripmargin.records.standing.measured import Measured

TWO_SIDED = 1.96  # standard deviations of a 95 % interval


@dataclass(frozen=True, slots=True)
class Charted:
    """One figure with its picture and the table behind it.

    `picture` is empty where there is nothing to draw yet; `because` says why.
    """

    key: str
    told: Told
    words: tuple[str, ...]
    picture: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    because: str = ""


@dataclass(frozen=True, slots=True)
class _Look:
    width: float
    sun: bool


def charts(of: Drifting, *, us: bool, sun: bool, width: float) -> list[Charted]:
    """Every figure over time of a machine, drawn so wide, px."""
    look = _Look(width, sun)
    share = share_told(of.checks)
    made = [_drawn(of.name, "tripped", share, _share_chart(of.checks, share), look,
                   *_bins_table(of.checks, None))]  # fmt: skip
    for counted, name in ((of.trips, "Trips"), (of.false_trips, "False trips")):
        told = rate_told(counted, of.exposure, name)
        chart = _rate_chart(counted, told, of.exposure)
        table = _bins_table(counted, of.exposure)
        made.append(_drawn(of.name, counted.key, told, chart, look, *table))
    for one in of.measured:
        told = measured_told(one, us)
        chart = _measured_chart(one, told, us)
        made.append(_drawn(of.name, one.key, told, chart, look, *_measured_table(one, us)))
    return made


def _drawn(
    machine: str, key: str, told: Told, chart: DriftChart | None, look: _Look,
    headers: tuple[str, ...], rows: tuple[tuple[str, ...], ...],
) -> Charted:  # fmt: skip
    if chart is None:
        return Charted(key, told, (), "", headers, (), told.source)
    picture = drift_chart_picture(machine, chart, width=look.width, sun=look.sun)
    return Charted(key, told, chart.answers, picture, headers, rows)


def _share_chart(of: Counted, told: Told) -> DriftChart | None:
    if not of.bins:
        return None
    return DriftChart(
        "daily checks that tripped", "%", 0.01, _bin_marks(of.bins), "95 % interval",
        answers=(f"{told.value} tripped ({told.interval}).",), source=_sentence(told.source),
    )  # fmt: skip


def _rate_chart(of: Counted, told: Told, exposure: Exposure) -> DriftChart | None:
    if not of.bins:
        return None
    unit, size = exposure.unit
    return DriftChart(
        told.name.lower(), f"per {unit}", 1 / size, _bin_marks(of.bins), "95 % interval",
        answers=(f"{told.value} ({told.interval}).",),
        source=" ".join((_sentence(told.source), *told.notes)),
    )  # fmt: skip


def _bin_marks(bins: tuple[Bin, ...]) -> tuple[Mark, ...]:
    return tuple(
        Mark(b.middle, b.interval.value or 0.0, b.interval.low, b.interval.high) for b in bins
    )


def _measured_chart(of: Measured, told: Told, us: bool) -> DriftChart | None:
    if not of.values:
        return None
    dimension = DIMENSIONS[of.dimension]
    unit = dimension.us if us else dimension.metric
    drift = of.drift
    halves = [TWO_SIDED * sd for sd in of.sds]
    judged = f"{drift.because}" if drift.because else _signals(of)
    words = tuple(w for w in (f"{told.value} ({told.interval}).", judged, trend_words(of, us)) if w)
    return DriftChart(
        of.name.removeprefix("the "), unit, dimension.units[unit].factor,
        marks_from(of.times, of.values, halves, drift.signals, drift.judged_from),
        "95 % interval by the measuring uncertainty", drift.averages, drift.lower, drift.upper,
        of.limits, words, " ".join((_sentence(told.source), *of.notes)),
    )  # fmt: skip


def _signals(of: Measured) -> str:
    out, judged = len(of.drift.signals), len(of.values) - of.drift.judged_from
    averages = "the one average" if judged == 1 else f"{judged} averages"
    if not out:
        return f"None of {averages} left its usual limits."
    return f"{out} of {averages} left {'its' if out == 1 else 'their'} usual limits."


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def _bins_table(
    of: Counted, exposure: Exposure | None
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    if exposure is None:
        rows = [
            (_day(b.start), str(b.seen), f"{b.tried:.0f}", percent(b.interval.value or 0.0),
             f"{percent(b.interval.low)} to {percent(b.interval.high)}")
            for b in of.bins
        ]  # fmt: skip
        return ("from", "tripped", "checks", "share", "95 % interval"), tuple(rows)
    unit, size = exposure.unit
    rows = [
        (_day(b.start), str(b.seen), plain(b.tried / size), _rate((b.interval.value or 0) * size),
         f"{_rate(b.interval.low * size)} to {_rate(b.interval.high * size)}")
        for b in of.bins
    ]  # fmt: skip
    return ("from", "seen", f"{unit}s", f"per {unit}", "95 % interval"), tuple(rows)


def _measured_table(of: Measured, us: bool) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    def told(value: float) -> str:
        return shown(value, of.dimension, us=us)

    drift, out = of.drift, set(of.drift.signals)
    rows = []
    for k, (time, value, sd) in enumerate(zip(of.times, of.values, of.sds, strict=True)):
        average = usual = ""
        if drift.averages:
            average = told(drift.averages[k])
            usual = f"{told(drift.lower[k])} to {told(drift.upper[k])}"
        said = "outside" if k in out else "sets what is usual" if k < drift.judged_from else "usual"
        rows.append((_day(time), told(value), told(sd), average, usual, said if average else ""))
    headers = ("day", "value", "uncertainty (sd)", "average", "usual limits", "the average is")
    return headers, tuple(rows)


def _rate(value: float) -> str:
    return shown(value, "number", digits=2) if isfinite(value) else "no bound"


def _day(time: float) -> str:
    return f"{datetime.fromtimestamp(time, UTC):%Y-%m-%d}"
