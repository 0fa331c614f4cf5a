"""`tripmargin log back-up`, `restore` and `move-to`: keeping the records whole."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tripmargin.cli.log_opening import with_records
from tripmargin.cli.progress import working
from tripmargin.cli.tables import aligned
from tripmargin.ground.languages import say, say_many


@click.command("back-up")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--over", is_flag=True, help="Write over a file that is there.")
@with_records
def back_up(file: Path, over: bool) -> None:
    """Write everything to one FILE, as it is at this moment; others may go on writing.

    It holds people's password hashes and all photos: keep it as you keep a key. It appears whole,
    or not at all.
    """
    from tripmargin.records.exchange.back_up import back_up as write

    with working(say("Backing up")):
        manifest = write(file, over=over)
    _say(manifest)
    click.echo(say("Backed up: {file}. Only you may read it.", file=file))


@click.command()
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path, exists=True))
@click.option(
    "--into-empty",
    is_flag=True,
    help="SQLite: move the records that are here aside, and restore into new ones.",
)
@with_records
def restore(file: Path, into_empty: bool) -> None:
    """Restore a back-up into empty records: all of it, or nothing.

    Every byte is checked first, and the counts afterwards. Everybody signs in anew.
    """
    from tripmargin.records.exchange import moving, restoring

    aside: Path | None = None
    with working(say("Restoring")):
        if into_empty:
            manifest, aside = moving.restore_into_empty(file)
        else:
            manifest = restoring.restore(file)
    _say(manifest)
    if aside is not None:
        click.echo(say("The earlier records were moved aside and kept: {aside}", aside=aside))
    click.echo(
        say("Restored: {file} of {made_at}. The counts agree.", file=file, made_at=manifest.made_at)
    )


@click.command("move-to")
@click.argument("address", metavar="ADDRESS")
@with_records
def move_to(address: str) -> None:
    """Copy the records to an empty database at ADDRESS, and compare the counts.

    ADDRESS is such as postgresql://ann@db.example/yard. Stop the server first. What is here stays
    as it is.
    """
    from tripmargin.records.exchange import moving
    from tripmargin.records.home import DATABASE, without_password

    with working(say("Moving")):
        manifest = moving.move_to(address)
    _say(manifest)
    click.echo(
        say("Moved: the counts agree, table by table. The records that were here stay here.")
    )
    click.echo(
        say(
            "From now on set {setting} to that address: {address}",
            setting=DATABASE,
            address=without_password(address),
        )
    )


def _say(manifest: Any) -> None:
    rows = [(name, str(count)) for name, count in manifest.counts.items()]
    for line in aligned((say("table"), say("rows")), rows):
        click.echo(line)
    total = sum(manifest.counts.values())
    click.echo("  " + say_many("{count} row in all.", "{count} rows in all.", total))
