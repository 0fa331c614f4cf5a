"""`tripmargin log`: what happened to each machine, kept."""

from __future__ import annotations

import click

from tripmargin.cli.lazy import Later, LazyGroup

_ADDING, _SHOWING = "tripmargin.cli.log_adding", "tripmargin.cli.log_showing"
_EXCHANGE, _KEEPING = "tripmargin.cli.log_exchange", "tripmargin.cli.log_keeping"

COMMANDS = {
    "machines": Later(_SHOWING, "machines", "Which machines are in the records?"),
    "take": Later(_ADDING, "take", "Put a machine into the records, or a new version of it."),
    "add": Later(_ADDING, "add", "Add an entry: a daily check, a trip, an adjustment, ..."),
    "withdraw": Later(_ADDING, "withdraw", "Take an entry back; it stays to be seen."),
    "show": Later(_SHOWING, "show", "Show a machine's entries, newest first."),
    "export": Later(_EXCHANGE, "export", "Write entries as CSV, or everything as JSON."),
    "import": Later(_EXCHANGE, "import_", "Take in a CSV or JSON file: all of it, or nothing."),
    "back-up": Later(_KEEPING, "back_up", "Write everything to one file."),
    "restore": Later(_KEEPING, "restore", "Restore a back-up into empty records."),
    "move-to": Later(_KEEPING, "move_to", "Move the records to another database."),
}


@click.group(cls=LazyGroup, later=COMMANDS)
def log() -> None:
    """Keep what happened: daily checks, trips, adjustments, parts, hours, notes.

    The records lie in the folder that TRIPMARGIN_HOME names, or in the database that
    TRIPMARGIN_DATABASE names; the web app uses the same. Nothing in them is changed or deleted:
    what was wrong is corrected by an entry that points at it.
    """
