"""The fault chart as one picture: numbered steps, cautions first; and the table behind it."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.faultfinding.charts.chart_steps import Chart
from tripmargin.ground.languages import later, say, say_many
from tripmargin.pictures.fault_chart_part import Part, draw_part
from tripmargin.pictures.fault_chart_rows import place_of
from tripmargin.pictures.page import Cell, Table
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.trade_words import complaint_words

PAGE_WIDTH = 840.0
"""Px; suits A4."""


def fault_chart_picture(
    chart: Chart,
    parts: Sequence[Part] | None = None,
    *,
    width: float = PAGE_WIDTH,
    sun: bool = False,
) -> str:
    """Numbered steps as SVG.

    Parameters
    ----------
    chart : Chart
    parts : sequence of (ComplaintChart, steps), optional
        Some steps of some complaints; left out, every complaint whole, one below the other.
    width : float, px
        From 280 to 4000; about 840 suits A4, 360 a phone.
    sun : bool
        Greatest contrast, for reading outdoors.

    Returns
    -------
    str
        An SVG document.
    """
    drawn = [(each, each.steps) for each in chart.complaints] if parts is None else list(parts)
    sheet = Sheet(width, sun)
    for k, part in enumerate(drawn):
        sheet.y += 30 if k else 0
        draw_part(sheet, chart, part)
    names = ", ".join(dict.fromkeys(complaint_words(each.complaint) for each, _ in drawn))
    steps = sum(len(steps) for _, steps in drawn)
    title = say(
        "Fault chart of {machine}: {complaints}", machine=chart.machine_name, complaints=names
    )
    steps_said = say_many("{count} numbered step.", "{count} numbered steps.", steps)
    return sheet.done(title, steps_said)


def fault_chart_table(chart: Chart, complaint: str | None = None) -> Table:
    """One row for each branch of each step.

    Returns
    -------
    (headers, rows)
        Minutes; chances and shares from 0 to 1.
    """
    headers = (
        later("complaint"), later("step"), later("state"), later("do"), later("minutes"),
        later("share_of_cases"), later("answer"), later("answer_chance"), later("go_to"),
        later("repair"), later("repair_chance"), later("price"), later("module"),
    )  # fmt: skip
    wanted = chart.complaints if complaint is None else (chart.of(complaint),)
    rows: list[list[Cell]] = []
    for each in wanted:
        for step in each.steps:
            mends = step.kind == "repair"
            own: list[Cell] = [
                each.complaint,
                step.id,
                step.state,
                step.do,
                step.minutes,
                step.chance,
            ]
            repair: list[Cell] = [None, None, None, None]
            if mends:
                repair = [step.action, step.cure, step.price, "yes" if step.module else "no"]
            for branch in step.branches:
                rows.append([*own, branch.word, branch.chance, place_of(branch), *repair])
    return headers, rows
