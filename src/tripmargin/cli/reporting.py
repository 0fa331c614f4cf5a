"""`tripmargin report`: on paper and as one page, with the numbers inside."""

from __future__ import annotations

import click

from tripmargin.cli.lazy import Later, LazyGroup

_MACHINE, _READ = "tripmargin.cli.report_machine", "tripmargin.cli.report_read"

COMMANDS = {
    "commissioning": Later(
        _MACHINE, "commissioning", "Settings, proof, map, race, tests made, who signs."
    ),
    "daily-check": Later(_MACHINE, "daily_check", "The daily check as a sheet to tick."),
    "fault-chart": Later(_MACHINE, "fault_chart", "The fault chart: steps by complaint."),
    "season": Later(
        "tripmargin.cli.report_season", "season", "The season's review of a fleet, from its log."
    ),
    "training": Later(
        "tripmargin.cli.report_training", "training", "What somebody practised; no licence."
    ),
    "read": Later(_READ, "read", "Read a report's numbers back."),
}


@click.group(cls=LazyGroup, later=COMMANDS)
def report() -> None:
    """Write a report: a PDF for paper, or one HTML file; cautions come first.

    Every number stands with its unit, its limits and its source. The numbers travel inside the
    file, and `tripmargin report read` brings them back.
    """
