"""`tripmargin log add`, `withdraw` and `take`: writing to the records."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from tripmargin.cli.log_opening import local, time_of, who_option, with_records
from tripmargin.cli.log_words import kind_meant, kind_words, value_meant, value_words
from tripmargin.cli.tables import folded
from tripmargin.ground.languages import say, say_many

if TYPE_CHECKING:
    from tripmargin.records.kinds import Kind

SOURCE = "command line"  # kept with the entry


@click.command()
@click.argument("machine", metavar="MACHINE")
@click.argument("kind", metavar="KIND")
@click.argument("fields", metavar="FIELD=VALUE...", nargs=-1)
@click.option("--note", default="", help="Anything worth adding, in words.")
@click.option("--at", metavar="TIME", help="When it happened, ISO 8601. Default: now.")
@who_option
@click.option("--corrects", metavar="ID", help="The entry that this one puts right.")
@click.option("--id", "uid", type=click.UUID, help="Its id, so that a second try is known as one.")
@click.option("--us", is_flag=True, help="Say it in US units.")
@with_records
def add(
    machine: str,
    kind: str,
    fields: tuple[str, ...],
    note: str,
    at: str | None,
    who: str,
    corrects: str | None,
    uid: UUID | None,
    us: bool,
) -> None:
    """Add an entry to a machine's log.

    MACHINE is a name in the records. KIND is such as "daily check" or trip, FIELD=VALUE such as
    tripped=yes, size="20 mm" or gap_after/lower="3.5 mm"; every quantity with its unit. The page
    on log entries names every kind and field.
    """
    from tripmargin.records.exchange.naming import entry_named, machine_named
    from tripmargin.records.keeping.entries import NewEntry, read_entry_values, write_entry
    from tripmargin.records.kinds import WITHDRAWN, kind_named

    found = machine_named(machine)
    name = kind_meant(kind)
    if name == WITHDRAWN:
        raise click.UsageError(
            say("An entry is taken back by: tripmargin log withdraw ID --note WHY")
        )
    meant = kind_named(name)
    values = read_entry_values(found, name, _said(fields, meant))
    target = entry_named(corrects, found) if corrects else None
    moment = time_of(at, "--at") if at else _known_time(uid, target)
    _say_cautions(meant)
    written = write_entry(
        found,
        NewEntry(
            kind=name, values=values, at=moment, uid=uid, note=note, corrects=target, source=SOURCE
        ),
        who_name=who,
    )
    _say(written.entry, meant, us, new=written.new)


@click.command()
@click.argument("uid", metavar="ID")
@click.option("--note", default="", help="Why it is taken back; always given.")
@who_option
@with_records
def withdraw(uid: str, note: str, who: str) -> None:
    """Take an entry back: it counts no longer, and stays to be seen.

    ID is the beginning of the entry's id, as `tripmargin log show` prints it.
    """
    from tripmargin.records.exchange.naming import entry_named
    from tripmargin.records.keeping.entries import NewEntry, write_entry
    from tripmargin.records.kinds import WITHDRAWN

    if not note.strip():
        raise click.UsageError(say("--note: say why it is taken back."))
    target = entry_named(uid)
    new = NewEntry(kind=WITHDRAWN, values={}, note=note, corrects=target, source=SOURCE)
    entry = write_entry(target.machine, new, who_name=who).entry
    click.echo(
        say(
            "{machine}: {kind} of {at} is taken back by {who}. Id of this: {uid}",
            machine=target.machine,
            kind=kind_words(target.kind),
            at=local(target.at),
            who=who,
            uid=entry.uid,
        )
    )


@click.command()
@click.argument("file", metavar="MACHINE_FILE")
@click.option("--note", default="", help="What changed, in words.")
@who_option
@with_records
def take(file: str, note: str, who: str) -> None:
    """Put a machine into the records, or a new version of one that is there.

    MACHINE_FILE is a machine file, or a demo machine's name. Its type sheets come along. A machine
    of the same name gets a new version; the same content is kept once.
    """
    from django.db import transaction

    from tripmargin.machine import load_machine
    from tripmargin.machine.files import read_sheets
    from tripmargin.machine.loading import demo_machines, demo_path
    from tripmargin.records.keeping import machines as keeping
    from tripmargin.records.store.models import Machine

    load_machine(file)  # what is wrong is told with the file's own lines
    path = demo_path(file) if file in demo_machines() and not Path(file).exists() else Path(file)
    with transaction.atomic():
        for sheet in reversed(read_sheets(path)[1:]):  # the one that the others stand on first
            keeping.add_type_sheet(sheet.content, sheet.name, who_name=who)
        text, loaded = keeping.read_machine_file(path.read_bytes(), path.name)
        name = loaded.name.strip()
        there = [one for one in Machine.objects.all() if one.name.casefold() == name.casefold()]
        more: dict[str, Any] = {"file_name": path.name, "who_name": who, "note": note}
        if not there:
            machine = keeping.add_machine(text, loaded, **more)
            said = [say("{machine}: in the records now, version 1.", machine=machine)]
        else:
            before = there[0].versions.order_by("-number").first()
            version, new = keeping.add_version(there[0], text, loaded, **more)
            said = [
                say(
                    "{machine}: the same as version {number}; nothing was added.",
                    machine=there[0],
                    number=version.number,
                )
            ]
            if new:
                changes = keeping.compare(before, version)
                said = [
                    say(
                        "{machine}: version {number} now.", machine=there[0], number=version.number
                    ),
                    *_changes(changes),
                ]
    for line in said:
        click.echo(line)


def _changes(changes: Iterable[Any], most: int = 20) -> list[str]:
    lines = [f"  {one}" for one in changes]
    if len(lines) > most:
        rest = say_many(
            "and {count} more difference", "and {count} more differences", len(lines) - most
        )
        return [*lines[:most], f"  {rest}"]
    return lines or [f"  {say('It gives the same values; names or notes differ.')}"]


def _said(fields: tuple[str, ...], kind: Kind) -> dict[str, str]:
    """Key to text. A key may be written without the unit at its end: size for size_m."""
    short = {_without_unit(one.key): one.key for one in kind.fields}
    said: dict[str, str] = {}
    for field in fields:
        key, equals, value = field.partition("=")
        key = key.strip()
        if not equals or not key:
            raise click.UsageError(
                say('{field}: write FIELD=VALUE, such as size="20 mm".', field=field)
            )
        head, slash, name = key.partition("/")
        known = short.get(f"{head}{slash}")
        full = f"{known}{name}" if known else key
        if full in said:
            raise click.UsageError(say("{key}: given twice.", key=key))
        said[full] = value_meant(kind, full, value)
    return said


def _without_unit(key: str) -> str:
    head, slash, _ = key.partition("/")
    ends = ("_m_s", "_m", "_s")
    return next((head.removesuffix(end) for end in ends if head.endswith(end)), head) + slash


def _known_time(uid: UUID | None, target: Any) -> Any:
    """The time of an entry that no --at gives: a second try's and a correction's is known."""
    from tripmargin.records.store.models import Entry

    again = Entry.objects.filter(uid=uid).first() if uid else None
    if again is not None:
        return again.at
    return target.at if target is not None else None


def _say_cautions(kind: Kind) -> None:
    if kind.near:
        from tripmargin.faultfinding.cases.cautions import FIRST

        click.echo(folded(say(FIRST), "! "))


def _say(entry: Any, kind: Kind, us: bool, *, new: bool) -> None:
    from tripmargin.records.kinds import values_as_words
    from tripmargin.records.standing.after_entry import after_entry

    if not new:
        click.echo(say("It is in the log already; nothing was written twice."))
    click.echo(
        say(
            "{machine}: {kind}, {at}, by {who}",
            machine=entry.machine,
            kind=kind_words(kind.name),
            at=local(entry.at),
            who=entry.who_name,
        )
    )
    for label, value in values_as_words(kind, entry.values, us=us).items():
        click.echo(folded(value_words(label, value), "  ", "    "))
    if entry.corrects is not None:
        click.echo("  " + say("It puts right: {uid}", uid=entry.corrects.uid))
    click.echo("  " + say("Id: {uid}", uid=entry.uid))
    for one in after_entry(entry, us=us):
        click.echo(folded(one.words, "! "))
