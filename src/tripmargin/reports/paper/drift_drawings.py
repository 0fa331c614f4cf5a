"""Drift charts of what was measured in a season, for paper."""

from __future__ import annotations

from tripmargin.ground.units import DIMENSIONS
from tripmargin.pictures.drift_chart import DriftChart, drift_chart_picture, marks_from
from tripmargin.records.standing.drift_words import measured_told, trend_words
from tripmargin.records.standing.measured import Measured
from tripmargin.reports.paper.document import Drawing

TWO_SIDED = 1.96  # standard deviations of a 95 % interval
LEAST = 3
"""Values that a chart is drawn of: two are told in words."""


def drift_drawing(machine_name: str, of: Measured, us: bool) -> Drawing | None:
    """The course of a measured quantity; None where there are too few values."""
    if len(of.values) < LEAST:
        return None
    told, drift = measured_told(of, us), of.drift
    dimension = DIMENSIONS[of.dimension]
    unit = dimension.us if us else dimension.metric
    chart = DriftChart(
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
        "95 % interval by the measuring uncertainty",
        drift.averages,
        drift.lower,
        drift.upper,
        of.limits,
        tuple(one for one in (f"{told.value} ({told.interval}).", trend_words(of, us)) if one),
        " ".join((f"{told.source[:1].upper()}{told.source[1:].rstrip('.')}.", *of.notes)),
    )
    return Drawing(
        lambda width, sun: drift_chart_picture(machine_name, chart, width=width, sun=sun)
    )
