"""`tripmargin chart`: the fault chart on paper, what the checks prove, the FMEA table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tripmargin.cli.complaints import complaint_meant, refuse_unknown_complaint
from tripmargin.cli.output import Output, Picture, machine_argument, machine_with, output_options
from tripmargin.cli.progress import working
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.cli.chart_parts import Charted

PARTS = ("chart", "coverage", "alike", "fmea")


@click.command()
@machine_argument
@click.option(
    "--complaint",
    metavar="WORDS",
    help='Only the steps of one complaint, such as "feed stays stopped"; prints all of them.',
)
@click.option(
    "--part",
    type=click.Choice(PARTS),
    help="Only a part: the steps (chart), what each check proves (coverage), faults that look the"
    " same (alike), failure modes and effects (fmea).",
)
@click.option(
    "--step",
    metavar="STEP",
    help='Draw the wiring in an operating step instead, such as "armed": live parts marked.',
)
@click.option(
    "--fault",
    metavar="FAULT",
    help='With --step: with this fault in it, such as "W3:open"; what differs is ringed.',
)
@output_options
def chart(
    machine: str,
    complaint: str | None,
    part: str | None,
    step: str | None,
    fault: str | None,
    output: Output,
) -> None:
    """Print a machine's fault chart: what to look at, what each answer means, what to mend.

    Prints a summary; --save writes the whole: as a page for paper (.html), as one long picture
    (.svg) or as a table (.csv).
    """
    if fault is not None and step is None:
        raise click.UsageError(say("--fault goes with --step: it says what is drawn in that step."))
    if step is not None and (complaint, part) != (None, None):
        raise click.UsageError(say("--step draws the wiring: leave --complaint and --part out."))
    if complaint is not None and part not in (None, "chart"):
        raise click.UsageError(say("--complaint chooses steps of the chart: leave --part out."))
    if complaint is not None:
        refuse_unknown_complaint(complaint)
        complaint = complaint_meant(complaint)
    if step is not None:
        from tripmargin.cli.chart_step import show_step

        show_step(machine_with(machine, ()), step, fault, output)
        return
    wanted = (
        (part,) if part else ("chart",) if complaint else ("coverage", "chart", "alike", "fmea")
    )
    with working(say("charting"), quiet=output.as_json):
        found = _charted(machine, complaint, wanted)
    paper = PaperOutput(output.as_json, output.save, output.us, output.sun, found.page)
    paper.show(found.to_dict(), lines=found.print, picture=_picture(found))


def _charted(machine: str, complaint: str | None, wanted: tuple[str, ...]) -> Charted:
    from tripmargin import faultfinding
    from tripmargin.cli.chart_parts import Charted
    from tripmargin.faultfinding.charts.alike import alike
    from tripmargin.faultfinding.charts.chart import chart as charted
    from tripmargin.faultfinding.charts.coverage import coverage
    from tripmargin.faultfinding.charts.fmea import fmea
    from tripmargin.faultfinding.suspects.kept_folder import keep_what_is_worked_out
    from tripmargin.faultfinding.wording.card_words import daily_lines
    from tripmargin.machine import digest_of

    keep_what_is_worked_out()
    of = faultfinding.machine_problem(machine_with(machine, ()))
    only = None if complaint is None else [complaint]
    covered = coverage(of) if {"coverage", "fmea"} & set(wanted) else None
    return Charted(
        of.machine.name,
        complaint,
        charted(of, complaints=only) if "chart" in wanted else None,
        covered if "coverage" in wanted else None,
        alike(of) if "alike" in wanted else None,
        fmea(of, covered=covered) if "fmea" in wanted else None,
        tuple(daily_lines(of)),
        digest_of(of.machine),
    )


@dataclass(frozen=True, slots=True)
class PaperOutput(Output):
    """Saves a page as the chart's own page for paper, everything else as any picture."""

    page: Callable[[bool], str] | None = None

    def save_as(self, path: Path, picture: Picture) -> None:
        """Save under a name, as its ending asks."""
        from tripmargin.pictures.save import write_whole

        if self.page is not None and path.suffix.lower() == ".html":
            write_whole(path, self.page(self.sun).encode())
        else:
            Output.save_as(self, path, picture)


def _picture(found: Charted) -> Picture:
    """The steps as one picture, or the one table that was asked for."""
    return Picture(found.title, lambda _, sun, __: found.drawn(sun), lambda _: found.table())
