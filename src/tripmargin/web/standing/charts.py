"""From figures of drift to their pictures and the tables behind them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from math import isfinite

from tripmargin.ground.languages import say, say_many
from tripmargin.ground.units import percent, shown
from tripmargin.pictures.drift_chart import DriftChart, Mark, drift_chart_picture
from tripmargin.records.standing.counted import Bin, Counted
from tripmargin.records.standing.drift import Drifting
from tripmargin.records.standing.drift_words import (
    Told,
    measured_told,
    plain,
    rate_told,
    share_told,
)
from tripmargin.records.standing.exposure import Exposure
from tripmargin.records.standing.measured import Measured
from tripmargin.reports.paper.drift_drawings import measured_chart, sentence


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
    for counted, name in ((of.trips, say("Trips")), (of.false_trips, say("False trips"))):
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
    answer = say("{share} tripped ({interval}).", share=told.value, interval=told.interval)
    return DriftChart(
        say("daily checks that tripped"), "%", 0.01, _bin_marks(of.bins), say("95 % interval"),
        answers=(answer,), source=sentence(told.source),
    )  # fmt: skip


def _rate_chart(of: Counted, told: Told, exposure: Exposure) -> DriftChart | None:
    if not of.bins:
        return None
    unit, size = exposure.unit
    what = say("false trips") if of.key == "false trips" else say("trips")
    return DriftChart(
        what, _per(unit), 1 / size, _bin_marks(of.bins), say("95 % interval"),
        answers=(f"{told.value} ({told.interval}).",),
        source=" ".join((sentence(told.source), *told.notes)),
    )  # fmt: skip


def _per(unit: str) -> str:
    return say("per day") if unit == "day" else say("per running hour")


def _bin_marks(bins: tuple[Bin, ...]) -> tuple[Mark, ...]:
    return tuple(
        Mark(b.middle, b.interval.value or 0.0, b.interval.low, b.interval.high) for b in bins
    )


def _measured_chart(of: Measured, told: Told, us: bool) -> DriftChart | None:
    if not of.values:
        return None
    return measured_chart(of, told, us, of.drift.because or _signals(of))


def _signals(of: Measured) -> str:
    out, judged = len(of.drift.signals), len(of.values) - of.drift.judged_from
    if judged == 1:
        if not out:
            return say("The one average has not left its usual limits.")
        return say("The one average left its usual limits.")
    if not out:
        return say("None of {judged} averages left its usual limits.", judged=judged)
    return say_many(
        "{count} of {judged} averages left its usual limits.",
        "{count} of {judged} averages left their usual limits.",
        out,
        judged=judged,
    )


def _bins_table(
    of: Counted, exposure: Exposure | None
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    if exposure is None:
        rows = [
            (_day(b.start), str(b.seen), f"{b.tried:.0f}", percent(b.interval.value or 0.0),
             _from_to(percent(b.interval.low), percent(b.interval.high)))
            for b in of.bins
        ]  # fmt: skip
        headers = (say("from"), say("tripped"), say("checks"), say("share"), say("95 % interval"))
        return headers, tuple(rows)
    unit, size = exposure.unit
    rows = [
        (_day(b.start), str(b.seen), plain(b.tried / size), _rate((b.interval.value or 0) * size),
         _from_to(_rate(b.interval.low * size), _rate(b.interval.high * size)))
        for b in of.bins
    ]  # fmt: skip
    watched = say("days") if unit == "day" else say("running hours")
    headers = (say("from"), say("seen"), watched, _per(unit), say("95 % interval"))
    return headers, tuple(rows)


def _from_to(low: str, high: str) -> str:
    return say("{low} to {high}", low=low, high=high)


def _measured_table(of: Measured, us: bool) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    def told(value: float) -> str:
        return shown(value, of.dimension, us=us)

    drift, out = of.drift, set(of.drift.signals)
    rows = []
    for k, (time, value, sd) in enumerate(zip(of.times, of.values, of.sds, strict=True)):
        average = usual = ""
        if drift.averages:
            average = told(drift.averages[k])
            usual = _from_to(told(drift.lower[k]), told(drift.upper[k]))
        said = say("usual")
        if k in out:
            said = say("outside")
        elif k < drift.judged_from:
            said = say("sets what is usual")
        rows.append((_day(time), told(value), told(sd), average, usual, said if average else ""))
    headers = (
        say("day"),
        say("value"),
        say("uncertainty (sd)"),
        say("average"),
        say("usual limits"),
        say("the average is"),
    )
    return headers, tuple(rows)


def _rate(value: float) -> str:
    return shown(value, "number", digits=2) if isfinite(value) else say("no bound")


def _day(time: float) -> str:
    return f"{datetime.fromtimestamp(time, UTC):%Y-%m-%d}"
