"""A complaint's steps as a section of the page for paper: cautions first, then step by step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tripmargin.faultfinding.cases.cautions import FIRST
from tripmargin.faultfinding.charts.chart_steps import Chart, ChartStep, ComplaintChart
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.chart_cautions import CautionSet, own_cautions, sets_after
from tripmargin.pictures.chart_ways import Before, states_before, stays, way_words
from tripmargin.pictures.fault_chart_part import share_words
from tripmargin.pictures.fault_chart_rows import (
    ARROW,
    cases_words,
    notes_of,
    share,
    short_share,
    ways_of,
)
from tripmargin.pictures.svg import clean
from tripmargin.pictures.trade_words import complaint_words
from tripmargin.pictures.words import said

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
    go_on = say("No step is worth its paper here: go on with the tool.")
    nothing = f"<p>{clean(go_on)}</p>"
    few = f'<p class="few">{clean(few_words(each))}</p>\n' if each.leads < HALF else ""
    return (
        f'<section id="s{number}" class="paper complaint">\n'
        f"<h2>{number}&ensp;{clean(complaint_words(each.complaint))}</h2>\n"
        f"<p>{clean(said(each.says))} {clean(cases_words(each.share))}</p>\n"
        f"{_heed(section)}{few}"
        f'<p class="small">{clean(share_words(each, chart))}</p>\n{steps or nothing}</section>\n'
    )


def few_words(each: ComplaintChart) -> str:
    """Why the steps of a complaint lead to a repair in less than half of its cases.

    The larger loss is named: by slips and "can't tell", or with every look read rightly.
    """
    leads = share(each.leads)
    slips = each.leads_without_slips - each.leads
    if slips >= 1 - each.leads_without_slips:
        return say(
            "On paper only {share} of these cases come to the right repair, mostly because a look"
            " is misread or left open; tripmargin find-fault goes further.",
            share=leads,
        )
    likely = [named.id for step in each.steps[:1] for named in step.likely]
    if any(name.endswith(AT_TIMES) for name in likely):
        return say(
            "On paper only {share} of these cases come to the right repair, most often because the"
            " fault comes and goes and is away when somebody looks; tripmargin find-fault goes"
            " further.",
            share=leads,
        )
    return say(
        "On paper only {share} of these cases come to the right repair, because faults come and"
        " go, one complaint is told as another, and paper leaves out what is rare or not listed;"
        " tripmargin find-fault goes further.",
        share=leads,
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
        f'<li id="s{section.number}-{one.letter}"><b>{one.mark}</b>'
        f" {clean(' '.join(map(said, one.words)))}</li>\n"
        for words, one in section.sets.items()
        if words in used
    )
    told = say(
        "A step with one of these marks sends you to the machine: heed all that stands beside the"
        " mark before you begin it."
    )
    first = f"{clean(say(FIRST))} {clean(told)}"
    return f'<div class="safety">{first}<ul class="marks">\n{rows}</ul></div>\n'


def _step(section: _Section, step: ChartStep, before: Before) -> str:
    one = section.sets.get(own_cautions(step))
    heed = "" if one is None else f'<p class="heed">{section.link(one)} {clean(one.short)}</p>'
    notes, way = [clean(words) for words in notes_of(step, with_state=False)], ""
    if stays(step.state, before):
        notes.insert(0, clean(say("Still in: {state}.", state=as_written(step.state))))
    else:
        way = f'<p class="way">{clean(way_words(section.chart, step.state, before))}</p>'
    if step.kind != "look":
        marks = " ".join(section.link(each) for each in section.after(step))
        notes += [say("For these: {marks}.", marks=marks)] if marks else []
        where = clean(say("section {section}", section=section.daily))
        test = f'<a href="#s{section.daily}">{where}</a>'
        notes.append(say("The daily test: {section}; heed the cautions there.", section=test))
    answers = "".join(_answer(words, to, section.number) for words, to in ways_of(step))
    kind = "look" if step.kind == "look" else "mend"
    comes = short_share(step.chance)
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
    place = clean(said(to))
    if to.isdigit():
        place = f'<a href="#{step_id(section, int(to))}">{to}</a>'
    return f'<li><span>{clean(words)}</span> <b class="to">{ARROW}&nbsp;{place}</b></li>'
