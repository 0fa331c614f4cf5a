"""The second reading of a file of entries: they are written, in the caller's transaction."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import islice
from uuid import UUID

from tripmargin.ground.languages import say
from tripmargin.records.exchange.checking import AT_A_TIME, Checker, Place, is_same, kept_entries
from tripmargin.records.exchange.incoming import Incoming
from tripmargin.records.exchange.machines_in import Coming
from tripmargin.records.exchange.photos_in import write_photos
from tripmargin.records.home import RecordsError
from tripmargin.records.standing.refreshing import refresh
from tripmargin.records.store.models import Entry, Machine, MachineVersion


class Writer:
    """Writes the entries that a checker found good.

    Attributes
    ----------
    new, there, photos : int
        How many were written, how many were there already, and photos written.
    """

    def __init__(self, checker: Checker, machines: Mapping[str, Coming]) -> None:
        self.places = checker.places
        self.new = self.there = self.photos = 0
        self._targets = checker.corrections.targets
        self._keys: dict[UUID, int] = {}  # of targets that are written: id to primary key
        self._versions: dict[int, dict[int, int]] = {}
        self._waiting: list[tuple[Entry, UUID]] = []  # corrections before what they correct
        # One writer a machine at a time, as in `write_entry`; in one order, against deadlocks.
        self._machines = {one.pk: one for one in Machine.objects.select_for_update().order_by("pk")}
        self._touched = {one.row.pk for one in machines.values() if one.new or one.versions}

    def write(self, entries: Iterable[Incoming]) -> None:
        """Write them, and work out anew where their machines stand."""
        rest = iter(entries)
        while some := list(islice(rest, AT_A_TIME)):
            self._write(some)
        while self._waiting:
            waiting, self._waiting = self._waiting, []
            for entry, target in waiting:
                self._add([(entry, target)])
            if len(self._waiting) == len(waiting):
                raise RecordsError(
                    say("Something that is corrected went away meanwhile; import again.")
                )
        for pk in sorted(self._touched):
            refresh(self._machines.get(pk) or Machine.objects.get(pk=pk))

    def _write(self, some: list[Incoming]) -> None:
        placed = []
        for one in some:
            place = self.places.of(one.machine)
            if not isinstance(place, Place):
                raise RecordsError(
                    say(
                        "The machine {machine} went away meanwhile; import again.",
                        machine=one.machine,
                    )
                )
            placed.append((one, place, one.uid or one.id_from_content(place.uid)))
        kept = kept_entries([uid for _, _, uid in placed])
        fresh: dict[UUID, Entry] = {}
        for one, place, uid in placed:
            if uid in kept or uid in fresh:
                self.there += 1
                if uid in kept and not is_same(one, place.machine, kept[uid]):
                    raise RecordsError(
                        say("The id {uid} was taken meanwhile. Nothing was written.", uid=uid)
                    )
                continue
            fresh[uid] = self._entry(one, place, uid)
        corrects = {uid: one.corrects for one, _, uid in placed}
        self._add([(entry, corrects[uid]) for uid, entry in fresh.items()])
        for one, _, uid in placed:
            if one.photos:
                self._write_photos(one, kept.get(uid) or fresh[uid])

    def _write_photos(self, one: Incoming, entry: Entry) -> None:
        if entry.pk is None:
            raise RecordsError(
                say(
                    "line {line}: a correction with photos stands before what it corrects.\n "
                    " Export the file again, and leave the order of its entries as it is.",
                    line=one.line,
                )
            )
        self.photos += write_photos(entry, one.photos)

    def _add(self, some: list[tuple[Entry, UUID | None]]) -> None:
        """Add entries in their order; those whose target is not there yet wait."""
        batch: list[Entry] = []
        inside: set[UUID] = set()
        for entry, target in some:
            if target in inside:
                self._flush(batch)
                inside.clear()
            if target is not None:
                found = self._key_of(target)
                if found is None:
                    self._waiting.append((entry, target))
                    continue
                entry.corrects_id = found
            batch.append(entry)
            if entry.uid in self._targets:
                inside.add(entry.uid)
        self._flush(batch)

    def _flush(self, batch: list[Entry]) -> None:
        for entry in Entry.objects.bulk_create(batch):
            if entry.uid in self._targets:
                self._keys[entry.uid] = entry.pk
        self.new += len(batch)
        self._touched.update(entry.machine_id for entry in batch)
        batch.clear()

    def _key_of(self, target: UUID) -> int | None:
        if target not in self._keys:
            found = Entry.objects.filter(uid=target).values_list("pk", flat=True).first()
            if found is None:
                return None
            self._keys[target] = found
        return self._keys[target]

    def _entry(self, one: Incoming, place: Place, uid: UUID) -> Entry:
        entry = Entry(
            uid=uid, machine=place.machine, kind=one.kind, at=one.at, who_name=one.who,
            clock_ahead_s=one.clock_ahead_s, values=one.values, note=one.note, source=one.source,
            version_id=self._version(place.machine, one.version),
        )  # fmt: skip
        if one.received_at is not None:
            entry.received_at = one.received_at
        return entry

    def _version(self, machine: Machine, number: int | None) -> int | None:
        """The version that an entry names, else the one in force, as in `write_entry`."""
        if machine.pk not in self._versions:
            rows = MachineVersion.objects.filter(machine=machine).values_list("number", "pk")
            self._versions[machine.pk] = dict(rows)
        numbers = self._versions[machine.pk]
        return numbers.get(number or max(numbers, default=0))
