"""Writing to the log: once, whatever the connection does, and through to the disk."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

from django.db import IntegrityError
from django.utils import timezone

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.records.keeping.in_turn import writing_in_turn
from tripmargin.records.kinds import KINDS, WITHDRAWN, EntryError, Kind, Wrong, kind_named
from tripmargin.records.kinds.fields import LONGEST_TEXT, Value
from tripmargin.records.kinds.reading import read_values
from tripmargin.records.standing.asked import asked_of
from tripmargin.records.store.models import Entry, Machine, MachineVersion, Person

AHEAD = timedelta(minutes=10)
"""How far in the future an entry may lie: clocks differ a little."""
OLDEST = datetime(1970, 1, 1, tzinfo=timezone.get_fixed_timezone(0))


class EntryConflictError(TripmarginError, ValueError):
    """An id that was used for another entry already; `.entry` is that one. Nothing was written."""

    def __init__(self, entry: Entry) -> None:
        self.entry = entry
        super().__init__(
            say(
                "The id {uid} belongs to another entry already ({kind} of {machine},"
                " {at:%Y-%m-%d %H:%M}). Nothing was written.\n  Give the new entry an id of"
                " its own, or correct the one that is there.",
                uid=entry.uid,
                kind=entry.kind,
                machine=entry.machine,
                at=entry.at,
            )
        )


@dataclass(frozen=True, slots=True)
class Written:
    """An entry, and whether it is new: the second try after a bad connection is not."""

    entry: Entry
    new: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEntry:
    """An entry to be written.

    Attributes
    ----------
    kind : str
        A key of `KINDS`, or `WITHDRAWN` for a correction that takes back.
    values : mapping
        Key to value in SI, as `read_values` gives them.
    at : datetime, aware; now where None
    uid : UUID, made by whoever enters it
    corrects : Entry, optional
    clock_ahead_s : float, optional
        How far the sender's clock is ahead of ours.
    """

    kind: str
    values: Mapping[str, Value]
    at: datetime | None = None
    uid: UUID | None = None
    note: str = ""
    corrects: Entry | None = None
    clock_ahead_s: float | None = None
    source: str = "web"


def names_of(machine: Machine) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The names of the machine's pawls and operating steps, by its newest version."""
    asked = asked_of(newest_version(machine))
    return (asked.pawls, asked.steps) if asked else ((), ())


def newest_version(machine: Machine) -> MachineVersion | None:
    """The version in force; its long texts come when they are asked for."""
    return machine.versions.defer("text", "copy").order_by("-number").first()


def read_entry_values(
    machine: Machine,
    kind: str,
    said: Mapping[str, str],
    *,
    units: Mapping[str, str] | None = None,
) -> dict[str, Value]:
    """The values of what a person wrote, with this machine's names.

    Raises
    ------
    EntryError
        With everything that is wrong, each with its field.
    """
    pawls, steps = names_of(machine)
    return read_values(kind_named(kind), said, pawls=pawls, steps=steps, units=units)


def write_entry(
    machine: Machine, new: NewEntry, *, who: Person | None = None, who_name: str = ""
) -> Written:
    """Write an entry; when this returns it is on the disk.

    A second entry of the same id and the same content is the first one: nothing is written.

    Raises
    ------
    EntryError
        If it cannot be taken.
    EntryConflictError
        If its id belongs to another entry.
    """
    from tripmargin.records.standing.refreshing import refresh

    check_entry(machine, new)
    entry = Entry(
        uid=new.uid or uuid4(),
        machine=machine,
        kind=new.kind,
        at=new.at or timezone.now(),
        clock_ahead_s=new.clock_ahead_s,
        who=who,
        who_name=str(who) if who else who_name,
        values=dict(new.values),
        note=new.note,
        corrects=new.corrects,
        source=new.source,
    )
    try:
        with writing_in_turn():
            # One writer a machine at a time: what stands is worked out from all that is there.
            Machine.objects.select_for_update().values_list("pk").get(pk=machine.pk)
            found = Entry.objects.filter(uid=entry.uid).first()
            if found is not None:
                return _again(found, entry)
            _check_correction(new)
            entry.version = newest_version(machine)
            entry.save(force_insert=True)
            refresh(machine, entry.version)
    except IntegrityError:  # the same id at the same moment, for another machine
        return _again(Entry.objects.get(uid=entry.uid), entry)
    return Written(entry, new=True)


def _again(found: Entry, entry: Entry) -> Written:
    def content(one: Entry) -> tuple[Any, ...]:
        return (one.machine_id, one.kind, one.at, one.values, one.note, one.corrects_id)

    if content(found) != content(entry):
        raise EntryConflictError(found)
    return Written(found, new=False)


def check_entry(machine: Machine, new: NewEntry) -> None:
    """Look at everything that can be known before the write.

    Raises
    ------
    EntryError
        With everything that is wrong, each with its field.
    """
    wrong: list[Wrong] = []
    if new.kind == WITHDRAWN:
        if new.corrects is None or new.values:
            wrong.append(
                Wrong(
                    "kind",
                    new.kind,
                    say("it takes an entry back"),
                    say("a correction without values"),
                )
            )
    else:
        kind = kind_named(new.kind)
        wrong += _wrong_values(kind, new.values)
    if len(new.note) > LONGEST_TEXT:
        wrong.append(
            Wrong(
                "note",
                new.note,
                say("too long"),
                say("words, at most {most} letters", most=LONGEST_TEXT),
            )
        )
    if "\0" in new.note:
        wrong.append(
            Wrong("note", "", say("a zero character, which no database takes"), say("words"))
        )
    wrong += _wrong_time(new)
    if new.corrects is not None and new.corrects.machine_id != machine.pk:
        wrong.append(
            Wrong(
                "corrects",
                str(new.corrects.uid),
                say("an entry of another machine"),
                say("an entry of the same machine"),
            )
        )
    if wrong:
        raise EntryError(wrong)


def _wrong_values(kind: Kind, values: Mapping[str, Value]) -> list[Wrong]:
    """What does not fit: values may come from a file, not only from `read_values`."""
    from tripmargin.records.kinds.reading import wrong_values

    return wrong_values(kind, values)


def _wrong_time(new: NewEntry) -> list[Wrong]:
    if new.at is None:
        return []
    if new.at.tzinfo is None:
        return [Wrong("at", str(new.at), say("no time zone"), say("a time with its zone"))]
    latest = timezone.now() + AHEAD
    if not OLDEST <= new.at <= latest:
        ahead = new.at > latest
        return [
            Wrong(
                "at",
                f"{new.at:%Y-%m-%d %H:%M}",
                say("in the future") if ahead else say("before anybody wrote such a log"),
                say("from {oldest:%Y-%m-%d} to now", oldest=OLDEST),
                say("Is the clock of the phone right?") if ahead else "",
            )
        ]
    return []


def _check_correction(new: NewEntry) -> None:
    if new.corrects is None:
        return
    later = new.corrects.corrected_by.first()
    if later is not None:
        raise EntryError(
            [
                Wrong(
                    "corrects",
                    str(new.corrects.uid),
                    say("corrected already"),
                    say("an entry that stands; this one gave way to {uid}", uid=later.uid),
                    say(
                        "{who} corrected it on {at:%Y-%m-%d %H:%M}. Correct that entry instead.",
                        who=later.who_name,
                        at=later.received_at,
                    ),
                )
            ]
        )


__all__ = [
    "KINDS",
    "EntryConflictError",
    "NewEntry",
    "Written",
    "names_of",
    "newest_version",
    "read_entry_values",
    "write_entry",
]
