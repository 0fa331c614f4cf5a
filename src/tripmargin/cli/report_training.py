"""`tripmargin report training`: what somebody practised."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tripmargin.cli.log_opening import with_records
from tripmargin.cli.report_options import Writing, plain_name, report_options
from tripmargin.ground.languages import say


@click.command()
@click.argument(
    "files",
    metavar="[FILE]...",
    nargs=-1,
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
)
@click.option(
    "--person", metavar="NAME", default="", help="Whose record: only drills of this name."
)
@click.option("--from-log", is_flag=True, help="Take that person's drills from the records, too.")
@click.option(
    "--class",
    "class_code",
    metavar="CODE",
    help="Instead: the records of a whole class of the web app, a sheet for each learner.",
)
@report_options
def training(
    files: tuple[Path, ...], person: str, from_log: bool, class_code: str | None, writing: Writing
) -> None:
    """Write what somebody practised, from FILEs that `tripmargin drill --save` kept.

    A certificate of the drills that were played; it says itself that it is no licence.
    """
    if class_code is not None:
        if files or person or from_log:
            raise click.UsageError(
                say("--class takes what the class ended: leave files and the other options out.")
            )
        _write_class(class_code, writing)
        return
    if from_log and not person.strip():
        raise click.UsageError(say("--from-log needs a name: give --person NAME."))
    from tripmargin.drills import read_result
    from tripmargin.reports.paper.training import training_record

    results, others, after = [read_result(path) for path in files], [], []
    if from_log:
        of_log, others = _of_log(person)
        results += of_log.results
        after = of_log.after
    document = training_record(
        results,
        made=writing.made,
        name=person,
        others=others,
        after=after,
        by=writing.by,
        paper=writing.paper,
    )
    writing.write(document, f"training-{plain_name(document.subject)}")


def _write_class(code: str, writing: Writing) -> None:
    from tripmargin.reports.paper.class_records import class_records

    def read() -> Any:
        from tripmargin.reports.paper.practice_log import class_from_log

        return class_from_log(code)

    of = with_records(read)()
    document = class_records(of, made=writing.made, by=writing.by, paper=writing.paper)
    writing.write(document, f"class-{of.opened:%Y-%m-%d}-{plain_name(of.name)}")


def _of_log(person: str) -> Any:
    def read() -> Any:
        from tripmargin.reports.paper.practice_log import names_in_log, results_from_log

        return results_from_log(person), names_in_log()

    return with_records(read)()
