"""The fault chart as a report: steps by complaint, the daily test, and what the checks prove."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from tripmargin.faultfinding import MachineProblem
from tripmargin.faultfinding.cases.cautions import AT_REST, FIRST
from tripmargin.faultfinding.cases.ways import daily_test
from tripmargin.faultfinding.charts.alike import alike
from tripmargin.faultfinding.charts.chart import chart as charted
from tripmargin.faultfinding.charts.chart_steps import Chart, ChartStep, ComplaintChart
from tripmargin.faultfinding.charts.coverage import coverage
from tripmargin.faultfinding.charts.fmea import fmea
from tripmargin.faultfinding.wording.card_words import daily_cautions, must_show
from tripmargin.ground.languages import language, say
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
from tripmargin.pictures.words import said
from tripmargin.reports.paper.document import (
    Across,
    Block,
    Cautions,
    Cell,
    Document,
    Heading,
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
    steps_only : bool
        Without the tables: what checks prove, faults that look the same, failure modes.
    paper : str
        "a4" or "letter".
    """
    found = charted(of)
    machine = of.machine
    blocks = [
        *opening((FIRST, *AT_REST)),
        facts_table(
            (
                (say("Machine"), machine.name),
                (say("What it is"), machine.machine.description or ""),
                (say("Mark of the machine's file"), digest_of(machine)[:16]),
                (say("Rates"), "; ".join(found.rates)),
            )
        ),
        *_contents(found),
        *_daily(of, found),
        *_complaints(found),
    ]
    data = {"machine": machine.name, "machine_digest": digest_of(machine), "chart": found}
    if not steps_only:
        covered = coverage(of)
        groups, modes = alike(of), fmea(of, covered=covered)
        sections = (alike_section(groups), *coverage_sections(covered), *fmea_sections(modes))
        blocks += _tables(sections)
        data |= {"coverage": covered, "alike": groups, "fmea": modes}
    title = say("Fault chart: {machine}", machine=machine.name)
    return Document(KIND, title, machine.name, made, by, language(), blocks, data, paper)


def _contents(found: Chart) -> Iterator[Block]:
    yield Heading(say("What the operator says"), level=1)
    yield Words(
        [
            say(
                "Find the complaint, begin at its step 1, and go to the number that your answer"
                " leads to. Under each number stands the share of this complaint's cases that come"
                " there. Any other answer, or none that is sure, leads to the tool: use it, or hand"
                ' over. After every repair make the daily test, "{daily}".',
                daily=found.daily,
            )
        ]
    )
    headers = (say("Complaint"), say("In a sentence"), say("Of all cases"), say("Steps"),
               say("Right repair"))  # fmt: skip
    rows = [
        (each.complaint, said(each.says), share(each.share), f"{len(each.steps)}",
         share(each.leads))
        for each in found.complaints
    ]  # fmt: skip
    yield Table("", headers, rows, shares=(24, 46, 12, 9, 12), numbers=(2, 3, 4))


def _daily(of: MachineProblem, found: Chart) -> Iterator[Block]:
    steps = daily_test(of)
    yield Heading(say("The daily test, after every repair: {daily}", daily=found.daily), level=1)
    yield Cautions(say("Before the daily test"), [said(one) for one in daily_cautions(steps)])
    yield Listed([f"{step.do} {must_show(step)}" for step in steps], numbered=True)


def _complaints(found: Chart) -> Iterator[Block]:
    steps = [step for each in found.complaints for step in each.steps]
    sets = caution_sets(steps)
    for each in found.complaints:
        yield Heading(each.complaint, level=1, new_page=True)
        yield Words([f"{said(each.says)} {cases_words(each.share)}"])
        used = {own_cautions(step) for step in each.steps}
        used |= {one.words for step in each.steps for one in sets_after(step, steps, sets)}
        told = [
            f"{one.mark} {' '.join(map(said, one.words))}"
            for words, one in sets.items()
            if words in used
        ]
        heed = say("Heed what stands beside a mark before you begin a step that has it.")
        yield Cautions(say(FIRST), [heed, *told])
        if each.leads < HALF:
            yield Words([few_words(each)], strong=True)
        yield Words([share_words(each, found)], small=True)
        if not each.steps:
            yield Words([say("No step is worth its paper here: go on with the tool.")])
            continue
        yield _steps(found, each, sets, steps)


def _steps(
    found: Chart,
    each: ComplaintChart,
    sets: dict[tuple[str, ...], CautionSet],
    steps: list[ChartStep],
) -> Table:
    before = states_before(each)
    rows: list[tuple[Cell, ...]] = [
        (
            (Strong(f"{step.id}"), short_share(step.chance)),
            _what(found, step, before[step.id], sets, steps),
            tuple(f"{words} {ARROW} {said(to)}" for words, to in ways_of(step)),
        )
        for step in each.steps
    ]
    headers = (say("Step"), say("What is done"), say("Answer, and where it leads"))
    return Table("", headers, rows, shares=(8, 56, 40))


def _what(
    found: Chart,
    step: ChartStep,
    before: Before,
    sets: dict[tuple[str, ...], CautionSet],
    steps: list[ChartStep],
) -> tuple[str, ...]:
    """Cautions, the way, what is done, and what to know: in the order in which they are needed."""
    lines = []
    own = sets.get(own_cautions(step))
    if own is not None:
        lines.append(f"{own.mark} {own.short}")
    if stays(step.state, before):
        lines.append(say("Still in: {state}.", state=step.state))
    else:
        lines.append(way_words(found, step.state, before))
    lines.append(Strong(step.do))
    lines += notes_of(step, with_state=False)
    if step.kind != "look":
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
