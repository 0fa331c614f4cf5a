"""Drift charts of what was measured: for paper, and for the web's Drift page."""

from __future__ import annotations

from tripmargin.ground.languages import say
from tripmargin.ground.units import DIMENSIONS
from tripmargin.pictures.drift_chart import DriftChart, drift_chart_picture, marks_from
from tripmargin.records.standing.drift_words import Told, measured_told, trend_words
from tripmargin.records.standing.measured import Measured
from tripmargin.reports.paper.document import Drawing

TWO_SIDED = 1.96  # standard deviations of a 95 % interval
LEAST = 3
"""Values that a chart is drawn of: two are told in words."""


def drift_drawing(machine_name: str, of: Measured, us: bool) -> Drawing | None:
    """The course of a measured quantity; None where there are too few values."""
    if len(of.values) < LEAST:
        return None
    chart = measured_chart(of, measured_told(of, us), us)
    return Drawing(
        lambda width, sun: drift_chart_picture(machine_name, chart, width=width, sun=sun)
    )


def measured_chart(of: Measured, told: Told, us: bool, judged: str = "") -> DriftChart:
    """The chart of a measured quantity.

    Parameters
    ----------
    of : Measured
        With one value or more.
    told : Told
        What `measured_told` says of it.
    us : bool
    judged : str
        What its averages show, in a sentence; empty where nothing is said of them.
    """
    drift = of.drift
    dimension = DIMENSIONS[of.dimension]
    unit = dimension.us if us else dimension.metric
    answers = (f"{told.value} ({told.interval}).", judged, trend_words(of, us))
    return DriftChart(
        of.name.removeprefix("the "),
        unit,
        dimension.units[unit].factor,
        marks_from(
            of.times,
            of.values,
            [TWO_SIDED * sd for sd in of.sds],
            drift.signals,
            drift.judged_from,
        ),
        say("95 % interval by the measuring uncertainty"),
        drift.averages,
        drift.lower,
        drift.upper,
        of.limits,
        tuple(one for one in answers if one),
        " ".join((sentence(told.source), *of.notes)),
    )


def sentence(text: str) -> str:
    """A source as a sentence."""
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."
