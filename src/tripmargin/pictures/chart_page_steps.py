"""A complaint's steps as a section of the page for paper: cautions first, then step by step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tripmargin.faultfinding.cases.cautions import FIRST
from tripmargin.faultfinding.charts.chart_steps import Chart, ChartStep, ComplaintChart
from tripmargin.pictures.chart_cautions import CautionSet, own_cautions, sets_after
from tripmargin.pictures.chart_ways import Before, states_before, stays, way_words
from tripmargin.pictures.fault_chart_part import share_words
from tripmargin.pictures.fault_chart_rows import ARROW, TO_TOOL, notes_of, share, ways_of
from tripmargin.pictures.svg import clean

HALF = 0.5
"""Share of its cases led to a repair below which a complaint says so at its head."""
AT_TIMES = " at times"
"""How the id of a fault that comes and goes ends."""

CautionSets = Mapping[tuple[str, ...], CautionSet]


def complaint_section(
    chart: Chart, each: ComplaintChart, number: int, *, sets: CautionSets, daily: int
) -> str:
    """One complaint as HTML.

    Parameters
    ----------
    chart : Chart
    each : ComplaintChart
    number : int
        Of the section.
    sets : dict of tuple of str to CautionSet
        Those of the whole chart, so that a letter means the same everywhere.
    daily : int
        Number of the section that holds the daily test.
    """
    before = states_before(each)
    section = _Section(chart, each, number, sets, daily)
    steps = "".join(_step(section, step, before[step.id]) for step in each.steps)
    nothing = f"<p>No step is worth its paper here: go on with the {TO_TOOL}.</p>"
    few = f'<p class="few">{clean(few_words(each))}</p>\n' if each.leads < HALF else ""
    return (
        f'<section id="s{number}" class="paper complaint">\n'
        f"<h2>{number}&ensp;{clean(each.complaint)}</h2>\n"
        f"<p>{clean(each.says)} {share(each.share)} of all cases.</p>\n"
        f"{_heed(section)}{few}"
        f'<p class="small">{clean(share_words(each, chart))}</p>\n{steps or nothing}</section>\n'
    )


def few_words(each: ComplaintChart) -> str:
    """Why the steps of a complaint lead to a repair in less than half of its cases.

    The larger loss is named: by slips and "can't tell", or with every look read rightly.
    """
    begins = f"On paper only {share(each.leads)} of these cases come to the right repair"
    further = "tripmargin find-fault goes further"
    slips = each.leads_without_slips - each.leads
    if slips >= 1 - each.leads_without_slips:
        return f"{begins}, mostly because a look is misread or left open; {further}."
    likely = [named.id for step in each.steps[:1] for named in step.likely]
    if any(name.endswith(AT_TIMES) for name in likely):
        return (
            f"{begins}, most often because the fault comes and goes and is away when somebody"
            f" looks; {further}."
        )
    return (
        f"{begins}, because faults come and go, one complaint is told as another, and paper leaves"
        f" out what is rare or not listed; {further}."
    )


def step_id(section: int, step: int) -> str:
    """A step's anchor."""
    return f"s{section}-{step}"


@dataclass(frozen=True, slots=True)
class _Section:
    """What every step of a section needs to know."""

    chart: Chart
    each: ComplaintChart
    number: int
    sets: CautionSets
    daily: int

    def after(self, step: ChartStep) -> tuple[CautionSet, ...]:
        """Cautions of what a repair asks for after its daily test."""
        every = [one for each in self.chart.complaints for one in each.steps]
        return sets_after(step, every, self.sets)

    def link(self, one: CautionSet) -> str:
        """A mark that leads to the whole cautions."""
        return f'<a href="#s{self.number}-{one.letter}">{one.mark}</a>'


def _heed(section: _Section) -> str:
    """The cautions of a complaint's steps, whole, once."""
    steps = section.each.steps
    used = {own_cautions(step) for step in steps}
    used |= {one.words for step in steps for one in section.after(step)}
    rows = "".join(
        f'<li id="s{section.number}-{one.letter}"><b>{one.mark}</b> {clean(" ".join(one.words))}'
        "</li>\n"
        for words, one in section.sets.items()
        if words in used
    )
    told = (
        "A step with one of these marks sends you to the machine: heed all that stands beside the"
        " mark before you begin it."
    )
    return f'<div class="safety">{clean(FIRST)} {told}<ul class="marks">\n{rows}</ul></div>\n'


def _step(section: _Section, step: ChartStep, before: Before) -> str:
    one = section.sets.get(own_cautions(step))
    heed = "" if one is None else f'<p class="heed">{section.link(one)} {clean(one.short)}</p>'
    notes, way = [clean(words) for words in notes_of(step, with_state=False)], ""
    if stays(step.state, before):
        notes.insert(0, clean(f"Still in: {step.state}."))
    else:
        way = f'<p class="way">{clean(way_words(section.chart, step.state, before))}</p>'
    if step.kind != "look":
        marks = " ".join(section.link(each) for each in section.after(step))
        notes += [f"For these: {marks}."] if marks else []
        test = f'<a href="#s{section.daily}">section {section.daily}</a>'
        notes.append(f"The daily test: {test}; heed the cautions there.")
    answers = "".join(_answer(words, to, section.number) for words, to in ways_of(step))
    kind = "look" if step.kind == "look" else "mend"
    comes = share(step.chance).replace("under ", "<")
    return (
        f'<div class="step {kind}" id="{step_id(section.number, step.id)}">'
        f'<div class="number"><b>{step.id}</b><span>{clean(comes)}</span></div>'
        f'<div class="first">{heed}{way}</div>'
        f'<div class="what"><p class="do">{clean(step.do)}</p>'
        f'<p class="note">{" ".join(notes)}</p></div>'
        f'<ul class="answers">{answers}</ul></div>\n'
    )


def _answer(words: str, to: str, section: int) -> str:
    """An answer and where it leads: to a step by a link, to the tool, or to the end."""
    place = clean(to)
    if to.isdigit():
        place = f'<a href="#{step_id(section, int(to))}">{to}</a>'
    return f'<li><span>{clean(words)}</span> <b class="to">{ARROW}&nbsp;{place}</b></li>'
