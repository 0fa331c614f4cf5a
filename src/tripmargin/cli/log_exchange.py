"""`tripmargin log export` and `import`: entries as files that other programs read."""

from __future__ import annotations

from pathlib import Path

import click

from tripmargin.cli.log_opening import counted, who_option, with_records
from tripmargin.cli.progress import working

_DELIMITERS = {",": ",", ";": ";", "tab": "\t"}


@click.command()
@click.argument("machines", metavar="[MACHINE]...", nargs=-1)
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--photos", is_flag=True, help="With the photos; JSON alone.")
@click.option("--over", is_flag=True, help="Write over a file that is there.")
@with_records
def export(machines: tuple[str, ...], file: Path, photos: bool, over: bool) -> None:
    """Write entries to FILE: .csv, one row an entry; .json, machines and all.

    Without a MACHINE, of all machines. Values are in SI. JSON holds every version of every machine
    and the type sheets; people stand in both by their names alone.
    """
    from tripmargin.records.exchange.exporting import export_file
    from tripmargin.records.exchange.naming import machine_named

    chosen = [machine_named(name) for name in machines] or None
    with working("Writing"):
        count = export_file(file, chosen, photos=photos, over=over)
    click.echo(f"{file}: {counted(count, 'entry', 'entries')}.")


@click.command("import")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path, exists=True))
@click.option("--check", is_flag=True, help="Only say what is wrong, or what would be new.")
@click.option(
    "--delimiter",
    type=click.Choice(list(_DELIMITERS)),
    default=",",
    show_default=True,
    help="What separates the columns; with ; the decimal sign may be a comma.",
)
@who_option
@with_records
def import_(file: Path, check: bool, delimiter: str, who: str) -> None:
    """Take in FILE, a .csv or .json as `tripmargin log export` writes it.

    All of it or nothing: everything that is wrong is told with its line and column. What is in the
    records already stays as it is, so a file may be imported twice.
    """
    from tripmargin.records.exchange.importing import By, import_file

    with working("Reading"):
        found = import_file(
            file, delimiter=_DELIMITERS[delimiter], check_only=check, by=By(name=who)
        )
    start = "Nothing is wrong. It would bring: " if check else ""
    click.echo(f"{start}{counted(found.new, 'new entry', 'new entries')}, {found.there} there"
               " already.")  # fmt: skip
    others = (
        (found.machines, "new machine"),
        (found.sheets, "new type sheet"),
        (found.versions, "new version"),
        (found.photos, "photo"),
    )
    said = [counted(count, noun) for count, noun in others if count]
    if said:
        click.echo(f"Also: {', '.join(said)}.")
    if found.without_zone:
        click.echo(
            f"{counted(found.without_zone, 'time')} without a zone: read as this computer's."
        )
