"""Some steps of a complaint on one sheet: whose they are, cautions, states, the steps."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from tripmargin.faultfinding.cases.cautions import (
    AT_REST,
    FIRST,
    LIVE,
    NEVER_LOCKED,
    RUNNING,
    TWO_LIVE,
    TWO_RUNNING,
)
from tripmargin.faultfinding.charts.chart_steps import Chart, ChartState, ChartStep, ComplaintChart
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.fault_chart_rows import cases_words, draw_row, row_of, share
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import wrapped
from tripmargin.pictures.trade_words import complaint_words, source_words
from tripmargin.pictures.words import said

Part: TypeAlias = tuple[ComplaintChart, tuple[ChartStep, ...]]

_READ_IT = later(
    "begin at step 1 and go to the number that your answer leads to. An open number is a look, a"
    " filled one a repair; below it stands the share of this complaint's cases that come there."
    " Any other answer, or none that is sure, leads to the tool: use it, or hand over. After"
    " a repair make the daily test: {daily}."
)


def draw_part(sheet: Sheet, chart: Chart, part: Part) -> None:
    """Draw some steps of a complaint below what the sheet holds already."""
    each, steps = part
    which = say("Steps none.")
    if steps:
        which = say(
            "Steps {first} to {last} of {count}.",
            first=steps[0].id,
            last=steps[-1].id,
            count=len(each.steps),
        )
    sheet.paragraph(
        f"{chart.machine_name}: {complaint_words(each.complaint)}", sheet.type.title, bold=True
    )
    says = f"{said(each.says)} {cases_words(each.share)} {which}"
    sheet.paragraph(says, sheet.type.body)
    _framed(sheet, cautions_of(steps))
    if steps and steps[0].id == 1:
        sheet.paragraph(share_words(each, chart), sheet.type.small)
    for state in _states(chart, steps):
        sheet.paragraph(_state_words(state), sheet.type.small)
    sheet.y += 8
    for step in steps:
        draw_row(sheet, row_of(sheet, step))
    edge = sheet.type.edge
    style = {"stroke": sheet.look.soft, "stroke_width": 1}
    sheet.canvas.line(edge, sheet.y, sheet.width - edge, sheet.y, **style)
    rates = say("Rates: {rates}.", rates="; ".join(map(source_words, chart.rates)))
    sheet.footer(say(_READ_IT, daily=as_written(chart.daily)), (), (rates,))


def _state_words(state: ChartState) -> str:
    """A state, the one before it, and what to do to come there."""
    if not state.after:
        return say("State {state}: {do}", state=as_written(state.name), do=state.do)
    return say(
        "State {state}, from {before}: {do}",
        state=as_written(state.name),
        before=as_written(state.after),
        do=state.do,
    )


def share_words(each: ComplaintChart, chart: Chart) -> str:
    """What share of cases a complaint's steps cover."""
    return say(
        "These steps lead to the right repair in {rightly} of its cases if every look is read"
        " rightly, and in {leads} with {wrong} of looks misread and {cannot_tell} left open; the"
        " rest is for the tool.",
        rightly=share(each.leads_without_slips),
        leads=share(each.leads),
        wrong=share(chart.wrong),
        cannot_tell=share(chart.cannot_tell),
    )


def cautions_of(steps: Sequence[ChartStep]) -> tuple[str, ...]:
    """What to heed first for some steps, each caution once, the machine at rest before others."""
    wanted = {words for step in steps for words in step.cautions}
    order = (FIRST, *AT_REST, *LIVE, TWO_LIVE, *RUNNING, TWO_RUNNING, NEVER_LOCKED)
    return tuple(say(words) for words in order if {words, say(words)} & wanted)


def _framed(sheet: Sheet, lines: Sequence[str]) -> None:
    """Cautions in a frame."""
    size, edge, inset = sheet.type.small, sheet.type.edge, 8.0
    top = sheet.y + 6
    sheet.y = top + 4
    for words in lines:
        for line in wrapped(words, size, (sheet.inner - 2 * inset) * 0.97, bold=True):
            sheet.y += size * 1.3
            sheet.canvas.text(edge + inset, sheet.y - size * 0.3, line, size, font_weight="bold")
    sheet.y += 6
    style = {"fill": "none", "stroke": sheet.look.ink, "stroke_width": 2}
    sheet.canvas.rect(edge, top, sheet.inner, sheet.y - top, **style)
    sheet.y += 6


def _states(chart: Chart, steps: Sequence[ChartStep]) -> list[ChartState]:
    """The states that some steps ask for, and those on the way to them, in order."""
    known = {state.name: state for state in chart.states}
    wanted: set[str] = set()
    for step in steps:
        at = step.state
        while at:
            wanted.add(at)
            at = known[at].after
    return [state for state in chart.states if state.name in wanted]
