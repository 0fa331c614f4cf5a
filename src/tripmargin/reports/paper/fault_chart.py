"""The fault chart as a report: steps by complaint, the daily test, and what the checks prove."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from tripmargin.faultfinding import MachineProblem
from tripmargin.faultfinding.cases.cautions import AT_REST, FIRST
from tripmargin.faultfinding.cases.ways import daily_test
from tripmargin.faultfinding.charts.alike import alike
from tripmargin.faultfinding.charts.chart import chart as charted
from tripmargin.faultfinding.charts.chart_steps import Chart, ChartStep, ComplaintChart
from tripmargin.faultfinding.charts.coverage import coverage
from tripmargin.faultfinding.charts.fmea import fmea
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.faultfinding.wording.card_words import daily_cautions, must_show
from tripmargin.ground.languages import language, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.machine import digest_of
from tripmargin.pictures.alike_table import alike_section
from tripmargin.pictures.chart_cautions import CautionSet, caution_sets, own_cautions, sets_after
from tripmargin.pictures.chart_page_steps import few_words
from tripmargin.pictures.chart_ways import Before, states_before, stays, way_words
from tripmargin.pictures.coverage_table import coverage_sections
from tripmargin.pictures.fault_chart_part import share_words
from tripmargin.pictures.fault_chart_rows import (
    ARROW,
    cases_words,
    notes_of,
    share,
    short_share,
    ways_of,
)
from tripmargin.pictures.fmea_table import fmea_sections
from tripmargin.pictures.page import Section
from tripmargin.pictures.trade_words import complaint_words, source_words
from tripmargin.pictures.words import said
from tripmargin.reports.paper.document import (
    Across,
    Block,
    Cautions,
    Cell,
    Document,
    Heading,
    Heed,
    Listed,
    Strong,
    Table,
    Words,
)
from tripmargin.reports.paper.sections import of_section
from tripmargin.reports.paper.signing import facts_table, opening

KIND = "fault-chart"
HALF = 0.5
"""Share of its cases led to a repair below which a complaint says so at its head."""


def fault_chart_report(
    of: MachineProblem,
    *,
    made: datetime,
    by: str = "",
    complaints: Sequence[str] = (),
    steps_only: bool = False,
    paper: str = "a4",
) -> Document:
    """The fault chart of a machine, on paper.

    Parameters
    ----------
    of : MachineProblem
    made : datetime
        With its zone.
    by : str
        Who makes it.
    complaints : sequence of str
        Only these, and no tables; none: the whole chart.
    steps_only : bool
        Without the tables: what checks prove, faults that look the same, failure modes.
    paper : str
        "a4" or "letter".

    Raises
    ------
    ProblemError
        If there is no such complaint, or no fault of the machine leads to it.
    """
    found = charted(of)
    machine = of.machine
    chosen = _chosen(found, complaints)
    blocks = [
        *opening((FIRST, *AT_REST)),
        facts_table(
            (
                (say("Machine"), machine.name),
                (say("What it is"), as_written(machine.machine.description or "")),
                (say("Mark of the machine's file"), digest_of(machine)[:16]),
                (say("Rates"), "; ".join(map(source_words, found.rates))),
            )
        ),
        *_contents(found, chosen),
        *_daily(of, found),
        *_complaints(found, chosen),
    ]
    data = {
        "machine": machine.name,
        "machine_digest": digest_of(machine),
        "chart": replace(found, complaints=chosen),
    }
    if not steps_only and not complaints:
        covered = coverage(of)
        groups, modes = alike(of), fmea(of, covered=covered)
        sections = (alike_section(groups), *coverage_sections(covered), *fmea_sections(modes))
        blocks += _tables(sections)
        data |= {"coverage": covered, "alike": groups, "fmea": modes}
    title = say("Fault chart: {machine}", machine=machine.name)
    return Document(KIND, title, machine.name, made, by, language(), blocks, data, paper)


def _chosen(found: Chart, complaints: Sequence[str]) -> tuple[ComplaintChart, ...]:
    there = [each.complaint for each in found.complaints]
    for one in complaints:
        if one not in there:
            wrong = say("no complaint that a fault of this machine leads to")
            raise ProblemError("complaint", one, wrong, ", ".join(there))
    return tuple(
        each for each in found.complaints if not complaints or each.complaint in complaints
    )


def _contents(found: Chart, chosen: Sequence[ComplaintChart]) -> Iterator[Block]:
    yield Heading(say("What the operator says"), level=1)
    yield Words(
        [
            say(
                "Find the complaint, begin at its step 1, and go to the number that your answer"
                " leads to. Under each number stands the share of this complaint's cases that come"
                " there. Any other answer, or none that is sure, leads to the tool: use it, or hand"
                ' over. After every repair make the daily test, "{daily}".',
                daily=as_written(found.daily),
            )
        ]
    )
    headers = (say("Complaint"), say("In a sentence"), say("Of all cases"), say("Steps"),
               say("Right repair"))  # fmt: skip
    rows = [
        (complaint_words(each.complaint), said(each.says), share(each.share),
         f"{len(each.steps)}", share(each.leads))
        for each in chosen
    ]  # fmt: skip
    yield Table("", headers, rows, shares=(24, 46, 12, 9, 12), numbers=(2, 3, 4))
    left = [complaint_words(one.complaint) for one in found.complaints if one not in chosen]
    if left:
        yield Words([say("Not in this print: {complaints}.", complaints=", ".join(left))])


def _daily(of: MachineProblem, found: Chart) -> Iterator[Block]:
    steps = daily_test(of)
    title = say("The daily test, after every repair: {daily}", daily=as_written(found.daily))
    yield Heading(title, level=1)
    yield Cautions(say("Before the daily test"), [said(one) for one in daily_cautions(steps)])
    yield Listed([f"{step.do} {must_show(step)}" for step in steps], numbered=True)


def _complaints(found: Chart, chosen: Sequence[ComplaintChart]) -> Iterator[Block]:
    # Marks are those of the whole chart, whatever of it is printed.
    steps = [step for each in found.complaints for step in each.steps]
    sets = caution_sets(steps)
    for each in chosen:
        yield Heading(complaint_words(each.complaint), level=1, new_page=True)
        yield Words([f"{said(each.says)} {cases_words(each.share)}"])
        needed = {own_cautions(step) for step in each.steps}
        needed |= {one.words for step in each.steps for one in sets_after(step, steps, sets)}
        used = [one for words, one in sets.items() if words in needed]
        told = [f"{one.mark} {' '.join(map(said, one.words))}" for one in used]
        heed = say("Heed what stands beside a mark before you begin a step that has it.")
        yield Cautions(say(FIRST), [heed, *told])
        if each.leads < HALF:
            yield Words([few_words(each)], strong=True)
        yield Words([share_words(each, found)], small=True)
        if not each.steps:
            yield Words([say("No step is worth its paper here: go on with the tool.")])
            continue
        on_each_page = [say(FIRST), *map(_short, used)]
        yield replace(_steps(found, each, sets, steps), heed=on_each_page)


def _short(one: CautionSet) -> str:
    return f"{one.mark} {one.short}"


def _steps(
    found: Chart,
    each: ComplaintChart,
    sets: dict[tuple[str, ...], CautionSet],
    steps: list[ChartStep],
) -> Table:
    before = states_before(each)
    own = {step.id: sets.get(own_cautions(step)) for step in each.steps}
    rows: list[tuple[Cell, ...]] = [
        (
            _which(step, own[step.id]),
            _what(found, step, before[step.id], own[step.id], sets, steps),
            tuple(f"{words} {ARROW} {said(to)}" for words, to in ways_of(step)),
        )
        for step in each.steps
    ]
    headers = (say("Step"), say("What is done"), say("Answer, and where it leads"))
    return Table("", headers, rows, shares=(8, 62, 34))


def _which(step: ChartStep, own: CautionSet | None) -> tuple[str, ...]:
    """The step's number, how many come to it, and the mark of what is heeded at it."""
    marks = () if own is None else (Strong(own.mark),)
    return (Strong(f"{step.id}"), short_share(step.chance), *marks)


def _what(
    found: Chart,
    step: ChartStep,
    before: Before,
    own: CautionSet | None,
    sets: dict[tuple[str, ...], CautionSet],
    steps: list[ChartStep],
) -> tuple[str, ...]:
    """Cautions, the way, what is done, and what to know: in the order in which they are needed."""
    lines: list[str] = [] if own is None else [Heed(_short(own))]
    if stays(step.state, before):
        lines.append(say("Still in: {state}.", state=step.state))
    else:
        lines.append(way_words(found, step.state, before))
    lines.append(Strong(step.do))
    lines += notes_of(step, with_state=False)
    if step.kind != "look":
        lines.append(
            say("The daily test has cautions of its own: page 1.")
            if step.kind == "test"
            else say("Then the daily test, under its own cautions: page 1.")
        )
        marks = " ".join(one.mark for one in sets_after(step, steps, sets))
        lines += [say("For these: {marks}.", marks=marks)] if marks else []
    return tuple(lines)


def _tables(sections: tuple[Section, ...]) -> Iterator[Block]:
    first = True
    for section in sections:
        blocks = tuple(of_section(section, level=1))
        if section.wide and blocks:
            yield Across(blocks)
        elif blocks and first:
            yield Heading(section.title, level=1, new_page=True)
            yield from blocks[1:]
        else:
            yield from blocks
        first = False
