"""`tripmargin report commissioning` and its neighbours: reports about one machine."""

from __future__ import annotations

from typing import Any

import click

from tripmargin.cli.output import length_of, machine_argument, machine_with
from tripmargin.cli.progress import working
from tripmargin.cli.report_options import Writing, plain_name, report_options
from tripmargin.ground.languages import say


@click.command()
@machine_argument
@click.option(
    "--cut",
    metavar="LENGTH",
    help='The cut in use, such as "9 mm": the race is run there. Default: the longest on offer.',
)
@click.option(
    "--from-log", is_flag=True, help="Take the tests made, and how it stands, from its log."
)
@report_options
def commissioning(machine: str, cut: str | None, from_log: bool, writing: Writing) -> None:
    """Write the commissioning report of a machine: how it is set, and whether it is protected so.

    Cautions, verdict and reasons, protection map, the race at the cut in use, what is assumed,
    every setting with its source, the tests made, and where to sign.
    """
    from tripmargin.reports.paper.commissioning import commissioning_report

    loaded = machine_with(machine, ())
    cut_length = None if cut is None else length_of(cut, "--cut")
    tests, by_log = _of_log(loaded.name, writing) if from_log else ((), None)
    with working(say("proving"), quiet=writing.as_json) as progress:
        document = commissioning_report(
            loaded,
            made=writing.made,
            by=writing.by,
            cut_length=cut_length,
            tests=tests,
            by_log=by_log,
            us=writing.us,
            paper=writing.paper,
            progress=progress,
        )
    writing.write(document, f"commissioning-{plain_name(loaded.name)}")


def _of_log(name: str, writing: Writing) -> Any:
    """The tests in a machine's log, and how it stands by it."""
    from tripmargin.cli.log_opening import with_records

    def read() -> Any:
        from tripmargin.records.exchange.naming import machine_named
        from tripmargin.reports.paper.trials import state_by_log_of, trials_of

        machine = machine_named(name)
        return trials_of(machine, us=writing.us), state_by_log_of(
            machine, writing.made, us=writing.us
        )

    return with_records(read)()


@click.command("daily-check")
@machine_argument
@click.option(
    "--weeks",
    type=click.IntRange(1, 26),
    default=1,
    show_default=True,
    metavar="N",
    help="How many pages, of seven days each.",
)
@report_options
def daily_check(machine: str, weeks: int, writing: Writing) -> None:
    """Write the daily check as a sheet to tick, for a clip board: a week a page.

    Date, operator and hours; each step with what lamps and buzzer should show; big boxes.
    """
    from tripmargin.reports.paper.daily_check import daily_check_sheet

    loaded = machine_with(machine, ())
    document = daily_check_sheet(
        loaded, made=writing.made, by=writing.by, weeks=weeks, paper=writing.paper
    )
    writing.write(document, f"daily-check-{plain_name(loaded.name)}")


@click.command("fault-chart")
@machine_argument
@click.option(
    "--complaint",
    "complaints",
    metavar="WORDS",
    multiple=True,
    help='Only the steps of a complaint, such as "feed stays stopped", and no tables; may be given'
    " several times. The whole chart has 50 to 100 pages.",
)
@click.option("--steps-only", is_flag=True, help="Leave the tables out: coverage, alike, FMEA.")
@report_options
def fault_chart(
    machine: str, complaints: tuple[str, ...], steps_only: bool, writing: Writing
) -> None:
    """Write the fault chart of a machine: what to look at, what each answer means, what to mend.

    Steps by complaint, the daily test, what the checks prove and leave open, which faults look the
    same, failure modes and effects.
    """
    from tripmargin.cli.complaints import complaint_meant, refuse_unknown_complaint
    from tripmargin.cli.finding import _refuse_without_wiring
    from tripmargin.faultfinding import machine_problem
    from tripmargin.faultfinding.suspects.kept_folder import keep_what_is_worked_out
    from tripmargin.reports.paper.fault_chart import fault_chart_report

    for complaint in complaints:
        refuse_unknown_complaint(complaint)
    loaded = machine_with(machine, ())
    _refuse_without_wiring(loaded, machine)
    keep_what_is_worked_out()
    with working(say("charting"), quiet=writing.as_json):
        document = fault_chart_report(
            machine_problem(loaded),
            made=writing.made,
            by=writing.by,
            complaints=[complaint_meant(complaint) for complaint in complaints],
            steps_only=steps_only,
            paper=writing.paper,
        )
    writing.write(document, f"fault-chart-{plain_name(loaded.name)}")
