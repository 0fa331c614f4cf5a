"""An entry as a page tells it: its words, who may correct it, what it corrects."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.db.models import Prefetch, QuerySet

from tripmargin.ground.languages import later, say
from tripmargin.records.kinds import KINDS, WITHDRAWN, Kind, values_as_words
from tripmargin.records.store.models import Entry, Person, Photo
from tripmargin.web.doors.roles import LOG, SET

LATE = timedelta(hours=1)
CLOCK_OFF_S = 600.0  # s, a phone's clock further off than this is told
_TITLES = {"adjustment": later("Pawl gaps"), WITHDRAWN: later("Taken back")}


def title_of(kind: str) -> str:
    """What a kind of entry is called on the pages."""
    known = KINDS.get(kind)
    if kind in _TITLES:
        return say(_TITLES[kind])
    return known.title if known else kind


def address_of(kind: str) -> str:
    """A kind's part of an address.

    >>> address_of("daily check")
    'daily-check'
    """
    return kind.replace(" ", "-")


def kind_at(address: str) -> Kind | None:
    """The kind that an address names."""
    return KINDS.get(address.replace("-", " "))


def for_telling(entries: QuerySet) -> QuerySet:
    """The entries with all that telling them needs: three queries, however many they are."""
    photos = Photo.objects.only("uid", "entry_id", "width", "height").order_by("id")
    newer = Entry.objects.only("uid", "corrects_id", "kind", "who_name", "received_at")
    return entries.select_related("corrects").prefetch_related(
        Prefetch("photos", queryset=photos), Prefetch("corrected_by", queryset=newer)
    )


@dataclass(frozen=True, slots=True)
class Told:
    """One entry, ready for a template."""

    entry: Any
    title: str
    words: dict[str, str]
    photos: list[Any]
    corrects: Any
    corrected_by: Any
    """The entry that took its place, or None: it stands."""
    late: bool
    clock: str
    """How far the phone's clock was off, in a sentence; empty where it was right."""
    may_correct: bool
    fresh: bool = False

    @property
    def withdrawn(self) -> bool:
        """Whether it was taken back."""
        return self.corrected_by is not None and self.corrected_by.kind == WITHDRAWN

    @property
    def takes_back(self) -> bool:
        """Whether it takes another one back."""
        return bool(self.entry.kind == WITHDRAWN)


def tell(entry: Any, person: Person, *, us: bool, fresh: bool = False) -> Told:
    """An entry that `for_telling` has read."""
    kind = KINDS.get(entry.kind)
    words = values_as_words(kind or Kind(entry.kind, entry.kind, ""), entry.values, us=us)
    newer = next(iter(entry.corrected_by.all()), None)
    return Told(
        entry=entry,
        title=title_of(entry.kind),
        words=words,
        photos=list(entry.photos.all()),
        corrects=entry.corrects,
        corrected_by=newer,
        late=entry.received_at - entry.at > LATE,
        clock=_clock_words(entry.clock_ahead_s),
        may_correct=newer is None and may_correct(entry, person),
        fresh=fresh,
    )


def may_correct(entry: Any, person: Person) -> bool:
    """Own entries with the role to log, other people's with the role to set."""
    own = entry.who_id is not None and entry.who_id == person.pk
    return bool(person.may(LOG if own else SET))


def _clock_words(ahead_s: float | None) -> str:
    if ahead_s is None or abs(ahead_s) < CLOCK_OFF_S:
        return ""
    off = apart(abs(ahead_s))
    if ahead_s > 0:
        return say("The clock of the phone was {off} ahead.", off=off)
    return say("The clock of the phone was {off} behind.", off=off)


def apart(seconds: float) -> str:
    """A time between two clocks.

    >>> apart(900), apart(7200), apart(3 * 86400)
    ('15 min', '2 h', '3 d')
    """
    if seconds >= 2 * 86400:
        return say("{days:.0f} d", days=seconds / 86400)
    if seconds >= 2 * 3600:
        return say("{hours:.0f} h", hours=seconds / 3600)
    return say("{minutes:.0f} min", minutes=seconds / 60)
