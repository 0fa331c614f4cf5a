"""The fault chart on paper: numbered steps, cautions first, in sheets that fit a page."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.faultfinding.charts.chart_steps import Chart, ChartStep, ComplaintChart
from tripmargin.pictures.drawn_table import drawn_table
from tripmargin.pictures.fault_chart_part import Part, draw_part
from tripmargin.pictures.fault_chart_rows import place_of, row_of, share
from tripmargin.pictures.page import Cell, Table
from tripmargin.pictures.sheet import Sheet

PAGE_WIDTH, PAGE_HEIGHT = 840.0, 1085.0
"""Px of a sheet that fits a page with its margins, A4 or the shorter one of the US."""


def fault_chart_sheets(
    chart: Chart, *, complaint: str | None = None, height: float = PAGE_HEIGHT
) -> tuple[Part, ...]:
    """The steps in portions that fit a page each.

    Parameters
    ----------
    chart : Chart
    complaint : str, optional
        Left out: all of the chart.
    height : float, px
        Of a sheet that is `PAGE_WIDTH` wide.

    Raises
    ------
    ProblemError
        If the chart has no such complaint.
    """
    wanted = chart.complaints if complaint is None else (chart.of(complaint),)
    sheets: list[Part] = []
    for each in wanted:
        left = list(each.steps)
        while left:
            count = _fitting(chart, each, left, height)
            sheets.append((each, tuple(left[:count])))
            left = left[count:]
    return tuple(sheets)


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
        As `fault_chart_sheets` gives them; left out, every complaint whole, one below the other.
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
    names = ", ".join(dict.fromkeys(each.complaint for each, _ in drawn))
    steps = sum(len(steps) for _, steps in drawn)
    return sheet.done(f"Fault chart of {chart.machine_name}: {names}", f"{steps} numbered steps.")


def cover_picture(chart: Chart, *, width: float = PAGE_WIDTH, sun: bool = False) -> str:
    """The complaints with what their steps reach, as SVG: where to begin reading."""
    headers = ("what the operator says", "of all cases", "steps", "right repair", "if read rightly")
    rows: list[list[Cell]] = [
        [
            f"{each.complaint}: {each.says}",
            share(each.share),
            len(each.steps),
            share(each.leads),
            share(each.leads_without_slips),
        ]
        for each in chart.complaints
    ]
    lines = (
        "Find the complaint, and begin at its step 1. The steps are those of the cheapest way to"
        " protected and proved, computed from the machine's file.",
        f"Right repair: share of its cases that the steps lead there with {share(chart.wrong)} of"
        f" looks misread and {share(chart.cannot_tell)} left open; the rest is for the tool, or is"
        " handed over.",
        f"After every repair: the daily test, {chart.daily}.",
    )
    title = f"{chart.machine_name}: where to begin"
    return drawn_table(title, lines, (headers, rows), width=width, sun=sun)


def fault_chart_table(chart: Chart, complaint: str | None = None) -> Table:
    """One row for each branch of each step.

    Returns
    -------
    (headers, rows)
        Minutes; chances and shares from 0 to 1.
    """
    headers = (
        "complaint", "step", "state", "do", "minutes", "share_of_cases", "answer",
        "answer_chance", "go_to", "repair", "repair_chance", "price", "module",
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


def _fitting(chart: Chart, each: ComplaintChart, steps: Sequence[ChartStep], height: float) -> int:
    """How many of the next steps fit one sheet, at least one."""
    blank, count, rows = Sheet(PAGE_WIDTH, sun=False), 0, 0.0
    for step in steps:
        rows += row_of(blank, step).height
        if rows > height:
            break
        count += 1
    while count > 1:
        sheet = Sheet(PAGE_WIDTH, sun=False)
        draw_part(sheet, chart, (each, tuple(steps[:count])))
        if sheet.y <= height:
            break
        count -= 1
    return max(count, 1)
