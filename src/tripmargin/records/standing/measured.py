"""Measured values over time: stop time, pawl gaps as found, travel of the metal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from tripmargin.ground.languages import say, say_many
from tripmargin.records.standing.asked import Asked
from tripmargin.records.standing.log_rows import Log
from tripmargin.records.standing.meanings import AFTER, BEFORE, changed
from tripmargin.records.standing.pawl_names import pawl_said
from tripmargin.records.statistics import Baseline, Drift, Series, Trend, ewma, trend

FEELER = 0.05e-3  # m; step of a feeler gauge
STOP_SD = 1e-3  # s; standard deviation of one stop-time measurement
LEFT_SD = 10e-3  # m; of where metal is found, by a tape in the mat
"""Assumed where an entry does not say: common practice, no source."""
FEW = Baseline(5, "sample")
"""For what is measured each quarter: ten values would be two years and a half."""
NEWEST = 12
"""Values that a trend runs through."""


@dataclass(frozen=True, slots=True)
class Measured:
    """One measured quantity in the course of time.

    Attributes
    ----------
    key : "stop time", "gap PAWL", "travel" or "left"
    name : str
        As it stands in a sentence.
    title : str
        As it stands over its figures.
    dimension : str
        A key of `ground.units.DIMENSIONS`.
    times, values, sds : tuple of float
        s since 1970; SI; standard measuring uncertainties.
    limits : (low, high)
        Of the machine's file; None: no limit on that side.
    drift : Drift
    trend : Trend
        Of the newest 12 values since `trend_since`: wear is not the same all the year.
    trend_since : float or None, s since 1970
        When something was changed last.
    worse : "up", "down" or "either"
    source : str
        What it comes from, in words.
    notes : tuple of str
        What is assumed.
    """

    key: str
    name: str
    dimension: str
    times: tuple[float, ...]
    values: tuple[float, ...]
    sds: tuple[float, ...]
    limits: tuple[float | None, float | None]
    drift: Drift
    trend: Trend
    trend_since: float | None
    worse: str
    source: str
    notes: tuple[str, ...]
    title: str

    @property
    def series(self) -> Series:
        """The same, for the signs."""
        return Series(self.name, self.dimension, self.drift, self.trend, self.worse)


@dataclass(frozen=True, slots=True)
class _Points:
    """Values as they were entered: (time, value, standard uncertainty or None)."""

    points: Sequence[tuple[float, float, float | None]]
    default_sd: float
    assumed: str

    def parts(self) -> tuple[list[float], list[float], list[float]]:
        """Times, values, uncertainties."""
        return (
            [time for time, _, _ in self.points],
            [value for _, value, _ in self.points],
            [self.default_sd if sd is None else sd for _, _, sd in self.points],
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """What is assumed, where anything is."""
        return (self.assumed,) if any(sd is None for _, _, sd in self.points) else ()


def stop_times(log: Log, asked: Asked | None, now: float) -> Measured:
    """The stop time; charted since the last part was replaced."""
    since = _last_part(log)
    found = [
        (row.time, float(row.values["stop_time_s"]), row.values.get("sd_s") or None)
        for row in log.of("stop time")
        if row.time >= since
    ]
    points = _Points(
        found, STOP_SD, say("Where no standard deviation was entered, 1 ms is assumed.")
    )
    limit = asked.stop_time if asked else None
    t, y, u = points.parts()
    return Measured(
        "stop time",
        say("the stop time"),
        "time",
        tuple(t),
        tuple(y),
        tuple(u),
        (None, limit),
        ewma(y, baseline=FEW, uncertainty=u),
        _trend(t, y, u, (None, limit), now),
        since or None,
        "up",
        say_many("from 1 measurement", "from {count} measurements", len(y)),
        points.notes,
        say("Stop time"),
    )


def gaps_found(log: Log, pawl: str, asked: Asked | None, now: float) -> Measured:
    """A pawl's gap as found; its trend runs since it was last set anew, from how it was left."""
    found, since_set, set_at = [], [], None
    for row in log.of("adjustment"):
        step = row.values.get("feeler_m")
        sd = None if step is None else step / sqrt(12)  # half a step either side, JCGM 100, 4.3.7
        before, after = row.values.get(BEFORE + pawl), row.values.get(AFTER + pawl)
        if before is not None:
            found.append((row.time, float(before), sd))
            since_set.append(found[-1])
        if after is not None and changed(row.values, pawl):
            since_set, set_at = [(row.time, float(after), sd)], row.time
    assumed = say("Where no step of the gauge was entered, 0.05 mm is assumed.")
    points = _Points(found, FEELER / sqrt(12), assumed)
    limits = asked.clearance if asked else (None, None)
    t, y, u = points.parts()
    t1, y1, u1 = _Points(since_set, FEELER / sqrt(12), "").parts()
    return Measured(
        f"gap {pawl}",
        say("the gap of the {pawl} pawl as found", pawl=pawl_said(pawl)),
        "length",
        tuple(t),
        tuple(y),
        tuple(u),
        limits,
        ewma(y, uncertainty=u),
        _trend(t1, y1, u1, limits, now),
        set_at,
        "either",
        say_many(
            "from 1 adjustment that says how it was found",
            "from {count} adjustments that say how it was found",
            len(y),
        ),
        points.notes,
        say("Gap of the {pawl} pawl as found", pawl=pawl_said(pawl)),
    )


def travels(log: Log, asked: Asked | None, now: float) -> Measured:
    """How far metal travelled, from where it lay when the feed stood; since the last new part.

    Travel is counted from above the sensor's axis: sensor_to_shear_bar less what was left to the
    shear bar. So it holds the place at which the piece was caught, which differs from piece to
    piece. Where the file does not give the distance, what was left is charted itself. Travel grows
    with the cut length: only trips at the one most often in use are taken.
    """
    since = _last_part(log)
    trips = [r for r in log.of("trip") if "left_m" in r.values and r.time >= since]
    cut, notes = None, []
    if trips:
        cut = Counter(r.values.get("cut_length_m") for r in trips).most_common(1)[0][0]
        kept = [r for r in trips if r.values.get("cut_length_m") == cut]
        if len(kept) < len(trips):
            values = {"kept": len(kept), "trips": len(trips)}
            if cut is None:
                words = say(
                    "{kept} of {trips} trips, those of which no cut length was entered: travel"
                    " hangs on the cut length.",
                    **values,
                )
            else:
                words = say(
                    "{kept} of {trips} trips, those at one cut length: travel hangs on the cut"
                    " length.",
                    **values,
                )
            notes.append(words)
        trips = kept
    distance = asked.sensor_to_shear_bar if asked else None
    found = [
        (r.time, v if distance is None else distance - v, None)
        for r in trips
        for v in [float(r.values["left_m"])]
    ]
    points = _Points(found, LEFT_SD, say("A place is taken to be off by 10 mm (sd), assumed."))
    limits: tuple[float | None, float | None]
    if distance is None:
        key, name, worse, limits = "left", say("the way left to the shear bar"), "down", (0.0, None)
        notes.append(
            say("The file does not give feed.sensor_to_shear_bar: what was left is shown.")
        )
    else:
        key, name, worse, limits = "travel", say("the metal's travel"), "up", (None, distance)
    title = say("Way left to the shear bar") if distance is None else say("Metal's travel")
    if cut is None:
        source = say_many(
            "from 1 trip of which it was entered where the metal lay",
            "from {count} trips of which it was entered where the metal lay",
            len(found),
        )
    else:
        source = say_many(
            "from 1 trip at a cut length of {cut:.3g} mm of which it was entered where the metal"
            " lay",
            "from {count} trips at a cut length of {cut:.3g} mm of which it was entered where the"
            " metal lay",
            len(found),
            cut=1e3 * cut,
        )
    t, y, u = points.parts()
    return Measured(
        key,
        name,
        "length",
        tuple(t),
        tuple(y),
        tuple(u),
        limits,
        ewma(y, uncertainty=u),
        _trend(t, y, u, limits, now),
        since or None,
        worse,
        source,
        (*notes, *points.notes),
        title,
    )


def _trend(
    t: Sequence[float], y: Sequence[float], u: Sequence[float],
    limits: tuple[float | None, float | None], now: float,
) -> Trend:  # fmt: skip
    newest = slice(-NEWEST, None)
    return trend(t[newest], y[newest], limits=limits, now=now, uncertainty=u[newest] or None)


def _last_part(log: Log) -> float:
    return max((row.time for row in log.of("part replaced")), default=0.0)
