"""`tripmargin log machines` and `show`: reading the records."""

from __future__ import annotations

from typing import Any

import click

from tripmargin.cli.log_opening import local, time_of, with_records
from tripmargin.cli.log_words import kind_meant, kind_words, value_words
from tripmargin.cli.output import json_text
from tripmargin.cli.tables import aligned, folded
from tripmargin.ground.languages import say, say_many

SHORT_ID = 8  # signs


@click.command()
@click.option("--json", "as_json", is_flag=True, help="The answer as JSON.")
@with_records
def machines(as_json: bool) -> None:
    """List the machines in the records, with their versions and entries."""
    from django.db.models import Count, Max

    from tripmargin.records.store.models import Entry, Machine

    entries = {
        row["machine"]: row
        for row in Entry.objects.values("machine").annotate(count=Count("id"), last=Max("at"))
    }
    found = Machine.objects.annotate(version=Max("versions__number")).order_by("name")
    rows = [
        {
            "name": one.name,
            "version": one.version,
            "entries": entries.get(one.pk, {}).get("count", 0),
            "last_entry_at": entries.get(one.pk, {}).get("last"),
            "put_away": one.put_away_at is not None,
            "uid": str(one.uid),
        }
        for one in found
    ]
    if as_json:
        for row in rows:
            row["last_entry_at"] = row["last_entry_at"] and row["last_entry_at"].isoformat()
        click.echo(json_text(rows))
        return
    if not rows:
        click.echo(say("No machine is in the records yet. Put one in: tripmargin log take FILE"))
        return
    cells = [
        (
            say("{name} (put away)", name=row["name"]) if row["put_away"] else str(row["name"]),
            str(row["version"]),
            str(row["entries"]),
            local(row["last_entry_at"]) if row["last_entry_at"] else say("no entry yet"),
        )
        for row in rows
    ]
    for line in aligned(
        (say("machine"), say("version"), say("entries"), say("last entry")), cells, indent=""
    ):
        click.echo(line)


@click.command()
@click.argument("machine", metavar="MACHINE")
@click.option("--kind", help="Entries of one kind alone.")
@click.option("--since", metavar="TIME", help="From this time on, ISO 8601.")
@click.option(
    "--most",
    type=click.IntRange(1, 100_000),
    default=20,
    show_default=True,
    metavar="N",
    help="At most so many, the newest.",
)
@click.option("--json", "as_json", is_flag=True, help="The entries as JSON, in SI.")
@click.option("--us", is_flag=True, help="US units instead of metric.")
@with_records
def show(
    machine: str, kind: str | None, since: str | None, most: int, as_json: bool, us: bool
) -> None:
    """Show a machine's entries, newest first; what was corrected or taken back says so."""
    from tripmargin.records.exchange.naming import machine_named
    from tripmargin.records.kinds import WITHDRAWN, kind_named
    from tripmargin.records.store.models import Entry

    found = machine_named(machine)
    entries = Entry.objects.filter(machine=found).order_by("-at", "-id")
    if kind is not None:
        name = kind_meant(kind)
        entries = entries.filter(kind=name if name == WITHDRAWN else kind_named(name).name)
    if since is not None:
        entries = entries.filter(at__gte=time_of(since, "--since"))
    shown = list(
        entries.select_related("corrects", "version").prefetch_related("corrected_by")[:most]
    )
    if as_json:
        click.echo(json_text([_as_json(one, str(found.name)) for one in shown]))
        return
    count = entries.count()
    if not shown:
        click.echo(say("{machine}: no such entry in the log yet.", machine=found))
        return
    if count > len(shown):
        told = say(
            "{machine}, the newest {shown} of {count} entries",
            machine=found,
            shown=len(shown),
            count=count,
        )
    else:
        told = say_many(
            "{machine}, the one entry", "{machine}, all {count} entries", count, machine=found
        )
    click.echo(told)
    for one in shown:
        for line in _lines(one, us):
            click.echo(line)


def _as_json(one: Any, machine: str) -> dict[str, Any]:
    from tripmargin.records.exchange.json_out import entry_as_json
    from tripmargin.records.exchange.leaving import Leaving

    made = entry_as_json(
        Leaving(
            one.pk,
            one.uid,
            machine,
            one.kind,
            one.at,
            one.received_at,
            one.clock_ahead_s,
            one.who_name,
            one.values,
            one.note,
            one.corrects.uid if one.corrects else None,
            one.version.number if one.version else None,
            one.source,
        )
    )
    later = _later(one)
    return made | {"gave_way_to": str(later.uid) if later else None}


def _later(one: Any) -> Any:
    """The entry that it gave way to, or None."""
    return next(iter(one.corrected_by.all()), None)


def _lines(one: Any, us: bool) -> list[str]:
    from tripmargin.records.kinds import KINDS, WITHDRAWN, Kind, values_as_words

    uid = str(one.uid)[:SHORT_ID]
    lines = [
        say(
            "{uid}  {at}  {kind}, by {who}",
            uid=uid,
            at=local(one.at),
            kind=kind_words(one.kind),
            who=one.who_name or say("nobody named"),
        )
    ]
    later = _later(one)
    if later is not None:
        by = str(later.uid)[:SHORT_ID]
        if later.kind == WITHDRAWN:
            lines.append(f"    {say('No longer counts: taken back by {uid}.', uid=by)}")
        else:
            lines.append(f"    {say('No longer counts: put right by {uid}.', uid=by)}")
    if one.corrects is not None:
        that = str(one.corrects.uid)[:SHORT_ID]
        if one.kind == WITHDRAWN:
            lines.append(f"    {say('Takes back {uid}.', uid=that)}")
        else:
            lines.append(f"    {say('Puts right {uid}.', uid=that)}")
    kind = KINDS.get(one.kind) or Kind(one.kind, one.kind, "")
    lines += [
        folded(value_words(label, value), "    ", "      ")
        for label, value in values_as_words(kind, one.values, us=us).items()
    ]
    if one.note:
        lines.append(folded(one.note, "    ", "    "))
    return lines
