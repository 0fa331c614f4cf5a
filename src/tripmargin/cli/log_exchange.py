"""`tripmargin log export` and `import`: entries as files that other programs read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from tripmargin.cli.log_opening import who_option, with_records
from tripmargin.cli.progress import working
from tripmargin.ground.languages import say, say_as, say_many

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
    with working(say("Writing")):
        count = export_file(file, chosen, photos=photos, over=over)
    click.echo(say_many("{file}: {count} entry.", "{file}: {count} entries.", count, file=file))


@contextmanager
def _one_of(files: tuple[Path, ...]) -> Iterator[Path]:
    """The file to import: the one that was given, or the one that codes hold the parts of."""
    from tripmargin.records.exchange.codes_in import PHOTOS, TEXTS, records_of

    codes = [path for path in files if path.suffix.lower() in (*PHOTOS, *TEXTS)]
    if not codes and len(files) == 1:
        yield files[0]
        return
    if len(codes) < len(files):
        raise click.UsageError(say("Several files at a time are photos or texts of codes only."))
    with TemporaryDirectory(prefix="tripmargin-") as folder:
        made = Path(folder, "codes.json")
        made.write_bytes(records_of(codes))
        yield made


@click.command("import")
@click.argument(
    "files",
    metavar="FILE...",
    nargs=-1,
    required=True,
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
)
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
def import_(files: tuple[Path, ...], check: bool, delimiter: str, who: str) -> None:
    """Take in FILE, a .csv or .json as `tripmargin log export` or a phone card writes it.

    Several FILEs are the codes of a phone card: photos of them (.png, .jpg, .webp), or texts with
    one code a line (.txt).

    All of it or nothing: everything that is wrong is told with its line and column. What is in the
    records already stays as it is, so a file may be imported twice.
    """
    from tripmargin.records.exchange.importing import By, import_file

    with working(say_as("under way", "Reading")), _one_of(files) as file:
        found = import_file(
            file, delimiter=_DELIMITERS[delimiter], check_only=check, by=By(name=who)
        )
    told = say_many(
        "{count} new entry, {there} there already.",
        "{count} new entries, {there} there already.",
        found.new,
        there=found.there,
    )
    click.echo(f"{say('Nothing is wrong. It would bring:')} {told}" if check else told)
    others = (
        (found.machines, say_many("{count} new machine", "{count} new machines", found.machines)),
        (found.sheets, say_many("{count} new type sheet", "{count} new type sheets", found.sheets)),
        (found.versions, say_many("{count} new version", "{count} new versions", found.versions)),
        (found.photos, say_many("{count} photo", "{count} photos", found.photos)),
        (
            found.answers,
            say_many(
                "{count} fault-finding answer", "{count} fault-finding answers", found.answers
            ),
        ),
    )
    brought = [words for count, words in others if count]
    if brought:
        click.echo(say("Also: {what}.", what=", ".join(brought)))
    if found.without_zone:
        click.echo(
            say_many(
                "{count} time without a zone: read as this computer's.",
                "{count} times without a zone: read as this computer's.",
                found.without_zone,
            )
        )
