"""`tripmargin report season`: the review of a fleet, from the records."""

from __future__ import annotations

from datetime import date

import click

from tripmargin.cli.log_opening import with_records
from tripmargin.cli.progress import working
from tripmargin.cli.report_options import Writing, report_options
from tripmargin.ground.languages import say


def _day(_: click.Context, parameter: click.Parameter, text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise click.BadParameter(
            say('"{text}" is no day. Allowed: year, month, day, such as 2026-05-03.', text=text)
        ) from error


@click.command()
@click.option(
    "--year",
    metavar="YEAR",
    type=click.IntRange(1970, 9998),
    help="One calendar year, such as 2026. Default: this one, up to the report's day.",
)
@click.option("--from", "first", metavar="DAY", callback=_day, help="The first day: 2026-04-01.")
@click.option(
    "--to", "last", metavar="DAY", callback=_day, help="The last day. Default: the report's day."
)
@report_options
@with_records
def season(year: int | None, first: date | None, last: date | None, writing: Writing) -> None:
    """Write the season's review of all machines in the records.

    How the fleet stands and whom to visit first; then each machine: state, what is due, figures
    with their intervals, drift, trips, metal found, parts. A machine that was never proved is
    proved first.
    """
    if year is not None and (first is not None or last is not None):
        raise click.UsageError(say("--year is a whole year: leave --from and --to out."))
    from tripmargin.records.standing.proving_versions import prove_what_never_was
    from tripmargin.reports.paper.season import season_review
    from tripmargin.reports.paper.season_log import Season

    today = writing.made.date()
    begins = first or date((year or (last or today).year), 1, 1)
    ends = last or (today if year is None else date(year, 12, 31))
    meant = Season(begins, ends)
    with working(say("proving"), quiet=writing.as_json) as progress:
        prove_what_never_was(progress)
    with working(say("reading the log"), quiet=writing.as_json) as progress:
        document = season_review(
            meant, made=writing.made, by=writing.by, us=writing.us, paper=writing.paper,
            progress=progress,
        )  # fmt: skip
        writing.write(document, f"season-{begins.isoformat()}-{ends.isoformat()}")
