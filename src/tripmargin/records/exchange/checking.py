"""The first reading of a file of entries: everything that is wrong, before anything is written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Any
from uuid import UUID

from django.utils import timezone

from tripmargin.ground.languages import say
from tripmargin.records.exchange.corrections import Corrections
from tripmargin.records.exchange.incoming import TIMES, Incoming
from tripmargin.records.exchange.machines_in import Coming
from tripmargin.records.exchange.naming import NoSuchNameError, name_meant
from tripmargin.records.exchange.photos_in import too_many_photos, wrong_photos
from tripmargin.records.exchange.troubles import Troubles
from tripmargin.records.keeping import entries as keeping
from tripmargin.records.keeping.sizes import LONGEST_KEY
from tripmargin.records.kinds import EntryError, Wrong
from tripmargin.records.store.models import Entry, Machine

AT_A_TIME = 500
LONGEST_WHO, LONGEST_SOURCE = 60, 20


@dataclass(frozen=True, slots=True)
class Place:
    """A machine that entries of the file go to: its row, and the versions that it has or gets."""

    machine: Machine
    numbers: frozenset[int]

    @property
    def uid(self) -> str:
        """Its id, as text."""
        return str(self.machine.uid)


class Places:
    """Machines by the names that a file uses: its own come before those in the records."""

    def __init__(self, coming: Mapping[str, Coming]) -> None:
        self._coming = coming
        self._here = {str(one.name): one for one in Machine.objects.all()}
        self._found: dict[str, Place | Wrong] = {}

    def of(self, name: str) -> Place | Wrong:
        """The machine of a name."""
        if name not in self._found:
            self._found[name] = self._look(name)
        return self._found[name]

    def _look(self, name: str) -> Place | Wrong:
        if name in self._coming:
            one = self._coming[name]
            return Place(one.row, frozenset(one.numbers))
        if not name:
            return Wrong("machine", "", say("needed, and left empty"), say("the name of a machine"))
        try:
            machine = self._here[name_meant(name, self._here)]
        except NoSuchNameError as error:
            what, _, hint = str(error).partition("\n")
            del what
            return Wrong(
                "machine",
                name,
                say("no such machine in the records"),
                say("the name of one that is there"),
                hint.strip(),
            )
        return Place(machine, frozenset(machine.versions.values_list("number", flat=True)))


class Checker:
    """Looks at each entry of a file once; what is wrong goes to its troubles.

    Attributes
    ----------
    new, there, photos : int
        Entries that are new, and those that were there already; photos in the file.
    by_machine : dict
        The same by the machine's name: new, and there already.
    """

    def __init__(self, places: Places, troubles: Troubles, *, with_photos: bool = True) -> None:
        self.places, self.troubles = places, troubles
        self.by_machine: dict[str, tuple[int, int]] = {}
        self._with_photos = with_photos
        self.corrections = Corrections(troubles)
        self.new = self.there = self.photos = 0
        # Id to content and machine: an entry may stand in the file twice, or be corrected there.
        self._seen: dict[int, bytes] = {}

    def look_through(self, entries: Iterable[Incoming]) -> None:
        """Look at all of them, then at what they correct.

        Raises
        ------
        ImportRefusedError
            With everything that is wrong.
        """
        rest = iter(entries)
        while some := list(islice(rest, AT_A_TIME)):
            self._look(some)
        self.corrections.look(self._machine_of)
        self.troubles.raise_if_any()

    def _look(self, some: list[Incoming]) -> None:
        placed: list[tuple[Incoming, Place, UUID]] = []
        for one in some:
            place = self.places.of(one.machine)
            wrong = [*one.wrong, *_more_wrong(one, place, with_photos=self._with_photos)]
            if isinstance(place, Wrong) and one.machine:
                self.troubles.unknown[one.machine] += 1
                if self.troubles.unknown[one.machine] > 1:
                    # Told with its first entry: else nothing but this would be told.
                    wrong = [other for other in wrong if other is not place]
            self.troubles.note(one.line, wrong)
            if not wrong and isinstance(place, Place):
                placed.append((one, place, one.uid or one.id_from_content(place.uid)))
        kept = kept_entries([uid for _, _, uid in placed])
        for one, place, uid in placed:
            self._count(one, place, uid, kept.get(uid))

    def _count(self, one: Incoming, place: Place, uid: UUID, kept: Entry | None) -> None:
        self.photos += len(one.photos)
        said = one.digest(place.uid) + place.machine.uid.bytes
        twice = self._seen.get(uid.int)
        is_new = twice is None and kept is None
        new, there = self.by_machine.get(name := str(place.machine.name), (0, 0))
        self.by_machine[name] = (new + is_new, there + (not is_new))
        if is_new:
            self._seen[uid.int] = said
            self.new += 1
            self.corrections.note(one, uid, place.uid)
            return
        self.there += 1
        if kept and one.photos:
            self.troubles.note(one.line, too_many_photos(kept, one.photos))
        if twice not in (None, said) or (kept and not is_same(one, place.machine, kept)):
            what = say("the id of another entry earlier in the file")
            if kept:
                what = say("the id of another entry in the records")
            self.troubles.note(
                one.line,
                [
                    Wrong(
                        "uid",
                        str(uid),
                        what,
                        say("an id of its own"),
                        say("Give it a new id, or none; or correct the one that is there."),
                    )
                ],
            )

    def _machine_of(self, uid: UUID) -> str | None:
        """The machine of a new entry of the file."""
        said = self._seen.get(uid.int)
        return str(UUID(bytes=said[-16:])) if said else None


def _more_wrong(one: Incoming, place: Place | Wrong, *, with_photos: bool) -> list[Wrong]:
    """What is wrong besides what its own text showed, one problem a column."""
    known = {wrong.field for wrong in one.wrong}
    found = [place] if isinstance(place, Wrong) else []
    if one.at is None:
        found.append(Wrong("at", "", say("needed, and left empty"), say(TIMES)))
    if len(one.who) > LONGEST_WHO:
        found.append(
            Wrong(
                "who",
                one.who,
                say("too long"),
                say("at most {most} letters", most=LONGEST_WHO),
            )
        )
    if len(one.source) > LONGEST_SOURCE:
        found.append(
            Wrong(
                "source",
                one.source,
                say("too long"),
                say("at most {most} letters", most=LONGEST_SOURCE),
            )
        )
    if not isinstance(place, Wrong) and one.version and one.version not in place.numbers:
        found.append(
            Wrong(
                "version",
                str(one.version),
                say("the machine has no such version"),
                ", ".join(map(str, sorted(place.numbers))),
            )
        )
    target = Entry() if one.corrects else None  # of the same machine; looked for when all is read
    found += _refused(one, one.at, target, "at")
    if one.received_at is not None:
        found += [w for w in _refused(one, one.received_at, target, "received_at")
                  if w.field == "received_at"]  # fmt: skip
    found += wrong_photos(one.photos) if with_photos else _photos_elsewhere(one)
    found += [
        Wrong(
            "values",
            key,
            say("too long a name"),
            say("at most {most} letters", most=LONGEST_KEY),
        )
        for key in one.values
        if len(key) > LONGEST_KEY
    ]
    return [wrong for wrong in found if wrong.field not in known]


def _photos_elsewhere(one: Incoming) -> list[Wrong]:
    """To look into many photos keeps a server busy for minutes."""
    if not one.photos:
        return []
    return [
        Wrong(
            "photos",
            str(len(one.photos)),
            say("photos are not taken here"),
            say("a file without photos"),
            say("Where the server runs: tripmargin log import FILE takes them."),
        )
    ]


def _refused(one: Incoming, at: datetime | None, target: Entry | None, as_key: str) -> list[Wrong]:
    new = keeping.NewEntry(
        kind=one.kind, values=one.values, at=at or timezone.now(), note=one.note, corrects=target
    )
    try:
        keeping.check_entry(Machine(), new)
    except EntryError as error:
        return [Wrong(as_key if wrong.field == "at" else wrong.field, wrong.value, wrong.problem,
                      wrong.allowed, wrong.hint) for wrong in error.wrong]  # fmt: skip
    return []


def kept_entries(uids: list[UUID]) -> dict[UUID, Entry]:
    """Those of these ids that are in the records."""
    return {one.uid: one for one in
            Entry.objects.filter(uid__in=uids).select_related("corrects")}  # fmt: skip


def is_same(one: Incoming, machine: Machine, kept: Entry) -> bool:
    """Whether an entry of the file is the one that is kept under its id."""
    corrects = kept.corrects.uid if kept.corrects else None
    said: tuple[Any, ...] = (kept.kind, kept.at, kept.values, kept.note, corrects)
    return kept.machine_id == machine.pk and one.content() == said
