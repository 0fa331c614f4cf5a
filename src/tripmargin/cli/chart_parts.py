"""The parts of a fault chart that were asked for: in a terminal, on a page, in a file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import click

from tripmargin.cli.tables import aligned, folded
from tripmargin.faultfinding.cases.cautions import AT_REST, said
from tripmargin.faultfinding.charts.alike import Alike
from tripmargin.faultfinding.charts.chart_steps import Chart, ChartStep, ComplaintChart
from tripmargin.faultfinding.charts.covered import Coverage, CoveredFault
from tripmargin.faultfinding.charts.effects import METAL, STOPPED
from tripmargin.faultfinding.charts.fmea import Fmea
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.wording.card_words import says_what_shows
from tripmargin.ground.languages import later, numeral, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.units import percent
from tripmargin.pictures.alike_table import alike_lines, alike_section, alike_table
from tripmargin.pictures.chart_cautions import SYMBOL
from tripmargin.pictures.chart_page import Group, Missing, chart_page
from tripmargin.pictures.coverage_table import (
    coverage_sections,
    coverage_table,
    rates_words,
    silent_faults,
    silent_lines,
)
from tripmargin.pictures.drawn_table import drawn_table
from tripmargin.pictures.fault_chart import fault_chart_picture, fault_chart_table
from tripmargin.pictures.fault_chart_part import share_words
from tripmargin.pictures.fault_chart_rows import step_lines
from tripmargin.pictures.fmea_table import fmea_sections, fmea_table, scale_lines
from tripmargin.pictures.page import Section, Table
from tripmargin.pictures.trade_words import complaint_words, look_words
from tripmargin.pictures.words import SAFETY

FIRST_STEPS, NAMED_SILENT, WORST = 4, 12, 6
"""How many steps, silent faults and failure modes a summary names."""
DRAWN_WIDTH = 1500.0
"""Px of a drawn table: A3 across."""
DIGEST = 12
"""Digits of a machine file's digest on paper: enough to tell two files apart."""


@dataclass(frozen=True, slots=True)
class Charted:
    """What was asked for of one machine; None for what was not."""

    machine_name: str
    complaint: str | None
    chart: Chart | None
    coverage: Coverage | None
    alike: Alike | None
    fmea: Fmea | None
    daily: tuple[str, ...] = ()
    """The daily test, step by step; cautions begin with "! "."""
    digest: str = ""
    """Of the machine file, type sheets and settings included."""

    @property
    def title(self) -> str:
        """Heading of the page."""
        return say("Fault chart of {machine}", machine=self.machine_name)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to heed before hands go anywhere."""
        return said(AT_REST)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: minutes, shares from 0 to 1, rates per 1000 h."""
        parts = {name: getattr(self, name) for name in ("chart", "coverage", "alike", "fmea")}
        made = {name: part.to_dict() for name, part in parts.items() if part is not None}
        return {"machine_name": self.machine_name, **made}

    # In a terminal

    def print(self) -> None:
        """A summary: what the checks leave open, then the first steps."""
        for line in (say(SAFETY), *said(AT_REST)):
            click.echo(folded(line))
        if self.coverage is not None:
            self._print_coverage(self.coverage)
        if self.chart is not None:
            self._print_chart(self.chart)
        if self.alike is not None:
            click.echo("\n" + say("Faults that look the same from outside"))
            for line in alike_lines(self.alike)[: 2 if self.chart is None else 1]:
                click.echo(folded(line, first="  "))
        if self.fmea is not None:
            self._print_fmea(self.fmea)
        click.echo(
            "\n" + say("The whole of it: --save chart.html (paper), .svg or .csv, or --json.")
        )

    def _print_coverage(self, covered: Coverage) -> None:
        click.echo("\n" + say("{machine}: what no lamp or buzzer tells", machine=self.machine_name))
        for line in silent_lines(covered):
            click.echo(folded(line, first="  "))
        silent = silent_faults(covered)[:NAMED_SILENT]
        for fault in silent:
            daily = say("daily check shows it") if covered.daily in fault.paths else _look(fault)
            told = say(
                "{fault}: metal {metal}; {shown_by}",
                fault=fault.text,
                metal=say(METAL[fault.metal]),
                shown_by=daily or say("nothing shows it"),
            )
            click.echo(folded(told, first="  - "))
        click.echo("\n" + say("What each check shows, by rate of the faults"))
        rows = [
            (as_written(path.name), numeral(path.minutes, ".1f"), percent(path.share))
            for path in covered.paths
        ]
        for line in aligned((say("check"), say("min"), say("shows")), rows):
            click.echo(line)
        left = [name for name in covered.not_daily if covered.fault(name).metal != STOPPED]
        said = "; ".join(covered.fault(name).text for name in left) or say("none")
        told = say(
            "Left open by the daily check, though metal is not stopped: {faults}.", faults=said
        )
        click.echo(folded(told, first="  "))
        click.echo(folded(rates_words(covered), first="  "))

    def _print_chart(self, chart: Chart) -> None:
        rows = [(complaint_words(each.complaint), *_shares(each)) for each in chart.complaints]
        click.echo("\n" + say("{machine}: the steps, by complaint", machine=self.machine_name))
        for line in aligned(tuple(map(say, _HEADERS)), rows):
            click.echo(line)
        click.echo(folded(say(_LEADS), first="  "))
        for each in chart.complaints[:1] if self.complaint is None else chart.complaints:
            count = len(each.steps) if self.complaint else FIRST_STEPS
            click.echo(f"\n{complaint_words(each.complaint)}: {each.says}")
            click.echo(folded(share_words(each, chart), first="  "))
            for step in each.steps[:count]:
                _print_step(step)

    def _print_fmea(self, fmea: Fmea) -> None:
        click.echo("\n" + say("Failure modes and effects, the worst severity first"))
        for row in fmea.rows[:WORST]:
            marks = f"S {row.severity} O {row.occurrence} D {row.detection}"
            said = f"{marks}: {row.item}, {row.failure_mode}: {row.final_effect}"
            click.echo(folded(said, first="  - "))
        click.echo(folded(fmea.warning, first="  "))

    # In a file

    def page(self, sun: bool) -> str:
        """Everything that was asked for, as a page for paper."""
        return chart_page(
            self.title,
            foot=say(
                "{machine}, machine file {digest}",
                machine=self.machine_name,
                digest=self.digest[:DIGEST],
            ),
            cautions=self.cautions,
            chart=self.chart,
            groups=self._groups(),
            missing=self._missing(),
            sun=sun,
        )

    def drawn(self, sun: bool) -> str:
        """The steps as one picture, or the one table that was asked for."""
        if self.chart is not None:
            return fault_chart_picture(self.chart, sun=sun)
        title, lines = self._told()
        return drawn_table(title, lines, self.table(), width=DRAWN_WIDTH, sun=sun)

    def table(self) -> Table:
        """The table for a spreadsheet: of the steps where they were asked for."""
        if self.chart is not None:
            return fault_chart_table(self.chart)
        if self.coverage is not None:
            return coverage_table(self.coverage)
        if self.alike is not None:
            return alike_table(self.alike)
        assert self.fmea is not None
        return fmea_table(self.fmea)

    def _missing(self) -> tuple[Missing, ...]:
        """The complaints that no fault of the machine leads to, where all were asked for."""
        if self.chart is None or self.complaint is not None:
            return ()
        there = {each.complaint for each in self.chart.complaints}
        return tuple(
            Missing(name, say(says)) for name, says in COMPLAINTS.items() if name not in there
        )

    def _groups(self) -> tuple[Group, ...]:
        """What the page holds below the steps."""
        found = []
        if self.chart is not None:
            title = say("The daily test, after every repair")
            found.append(Group(title, (Section(title, self._daily()),)))
        if self.alike is not None:
            alike = alike_section(self.alike)
            found.append(Group(alike.title, (alike,)))
        if self.coverage is not None:
            sections = coverage_sections(self.coverage)
            found.append(Group(say("What the checks prove and leave open"), sections))
        if self.fmea is not None:
            found.append(Group(say("Failure modes and effects"), fmea_sections(self.fmea)))
        return tuple(found)

    def _daily(self) -> list[str]:
        """The daily test with its cautions marked, and what must show beside what is done."""
        found: list[str] = []
        for number, line in enumerate(self.daily):
            if says_what_shows(self.daily, number):
                found[-1] += f" {line}"
            else:
                found.append(line.replace("! ", f"{SYMBOL} ", 1))
        return found

    def _told(self) -> tuple[str, list[str]]:
        """Heading of a lone table, and the sentences above it."""
        name = self.machine_name
        if self.coverage is not None:
            lines = [*silent_lines(self.coverage), rates_words(self.coverage)]
            return say("{name}: what each check shows", name=name), lines
        if self.alike is not None:
            return say("{name}: faults that look the same from outside", name=name), alike_lines(
                self.alike
            )
        assert self.fmea is not None
        return say("{name}: failure modes and effects", name=name), [
            self.fmea.warning,
            *scale_lines(self.fmea),
        ]


_HEADERS = (
    later("complaint"),
    later("of all cases"),
    later("steps"),
    later("leads"),
    later("read rightly"),
)
_LEADS = later(
    "Leads: share of its cases that the steps lead to the right repair, with slips; read"
    " rightly: the same with every look read rightly. The rest is for the tool"
    " (find-fault)."
)


def _shares(each: ComplaintChart) -> tuple[str, str, str, str]:
    shares = (each.share, each.leads, each.leads_without_slips)
    of_all, leads, rightly = (percent(share) for share in shares)
    return of_all, f"{len(each.steps)}", leads, rightly


def _look(fault: CoveredFault) -> str:
    return look_words(fault.quickest) if fault.quickest else ""


def _print_step(step: ChartStep) -> None:
    first, *more = step_lines(step)
    click.echo(folded(first, first=f"  {step.id:>3}  "))
    for line in more:
        click.echo(folded(line, first="       "))
