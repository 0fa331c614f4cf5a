"""What a form brought: read whole, so that every mistake is said at once and nothing is lost."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

from django.http import HttpRequest
from django.utils import timezone

from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.records.keeping.entries import AHEAD, OLDEST, NewEntry, read_entry_values
from tripmargin.records.keeping.photos import (
    PhotoError,
    ReadPhoto,
    carried,
    joined,
    read_photos,
)
from tripmargin.records.kinds import EntryError, Kind
from tripmargin.records.kinds.fields import LONGEST_TEXT, Value
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.log.boxes import PREFIX, Filled, text_of, trouble_of, with_unit
from tripmargin.web.log.telling import CLOCK_OFF_S, apart

_MINUTE = "%Y-%m-%dT%H:%M"
_FURTHEST_ZONE = 15 * 60  # minutes; the furthest in use is 14 h


@dataclass(slots=True)
class Sent:
    """A form that was sent: what stood in it, and what was read of it where nothing is wrong."""

    filled: Filled
    uid: UUID = field(default_factory=uuid4)
    values: dict[str, Value] = field(default_factory=dict)
    at: datetime | None = None
    clock_ahead_s: float | None = None
    photos: tuple[ReadPhoto, ...] = ()

    @property
    def good(self) -> bool:
        """Whether nothing is wrong so far."""
        return not self.filled.troubles

    def entry(self, kind: str, corrects: Entry | None = None) -> NewEntry:
        """The entry to be written."""
        return NewEntry(
            kind=kind,
            values=self.values,
            at=self.at,
            uid=self.uid,
            note=self.filled.note.strip(),
            corrects=corrects,
            clock_ahead_s=self.clock_ahead_s,
        )


def blank(now: datetime | None = None) -> Filled:
    """An empty form, the time as our clock has it; a phone puts in its own."""
    return Filled(at=f"{now or timezone.now():{_MINUTE}}")


def filled_from(entry: Any, kind: Kind, *, us: bool) -> Filled:
    """A form that holds what an entry says."""
    filled = Filled(at=f"{entry.at.astimezone(UTC):{_MINUTE}}", note=entry.note)
    for key, value in entry.values.items():
        known = kind.field_of(key)
        filled.texts[key] = text_of(value, known, us=us) if known else str(value)
    return filled


def read_sent(
    request: HttpRequest, machine: Machine, kind: Kind, *, us: bool, before: Any = None
) -> Sent:
    """Read a form; `before` is the entry that it was filled from, where it corrects one."""
    post = request.POST
    filled = Filled(
        texts={key[len(PREFIX):]: clean(post[key]) for key in post if key.startswith(PREFIX)},
        note=clean(post.get("note", "")),
        at=clean(post.get("at", "")),
        zone=clean(post.get("zone", "0")),
    )  # fmt: skip
    sent = Sent(filled)
    read_uid(sent, post.get("uid", ""))
    sent.clock_ahead_s = _clock_ahead(post.get("clock", ""))
    _read_values(sent, machine, kind, us=us, before=before)
    _read_time(sent, before)
    if len(filled.note) > LONGEST_TEXT:
        filled.trouble(
            "note",
            say(
                "Too long: {count} letters.\nAllowed: words, at most {most} letters.\n"
                "Put the rest into a second entry.",
                count=len(filled.note),
                most=LONGEST_TEXT,
            ),
        )
    _read_photos(sent, request, before)
    return sent


def clean(text: str) -> str:
    """As typed, but lines end in one way, and without the one letter that no database takes."""
    return text.replace("\r\n", "\n").replace("\x00", "")


def read_uid(sent: Sent, text: str) -> None:
    """The id that the form was given when it was shown."""
    try:
        sent.uid = UUID(text)
    except ValueError:
        words = say("The form had no number of its own. Send it again: now it has one.")
        sent.filled.trouble("", words)


def _read_values(sent: Sent, machine: Machine, kind: Kind, *, us: bool, before: Any) -> None:
    said = {}
    for key, text in sent.filled.texts.items():
        known = kind.field_of(key)
        said[key] = with_unit(text, known, us=us) if known else text
    try:
        sent.values = read_entry_values(machine, kind.name, said)
    except EntryError as error:
        for wrong in error.wrong:
            known = kind.field_of(wrong.field)
            text = trouble_of(wrong, known, us=us)
            if known is not None:
                sent.filled.trouble(wrong.field, text)
            elif wrong.field:
                told = say("“{seen}”: {trouble}", seen=shortened(wrong.field), trouble=text)
                sent.filled.trouble("", told)
            else:
                words = say("Nothing was entered yet. Fill in one of the boxes.")
                sent.filled.trouble("", words)
        return
    if before is not None:
        # What was not touched stays to the last digit, whatever the box could show of it.
        for key, value in filled_from(before, kind, us=us).texts.items():
            same = typed(sent.filled.texts.get(key, "")) == typed(value)
            if same and key in sent.values:
                sent.values[key] = before.values[key]


def _read_time(sent: Sent, before: Any) -> None:
    filled = sent.filled
    if not filled.at.strip():
        # A second try must say the same time as the first.
        known = Entry.objects.filter(uid=sent.uid).values_list("at", flat=True).first()
        sent.at = known or (before.at if before is not None else timezone.now())
        return
    try:
        local = datetime.fromisoformat(filled.at.strip())
        zone = int(filled.zone or 0)
        if local.tzinfo is not None or abs(zone) > _FURTHEST_ZONE:
            raise ValueError("a time with a zone of its own")
        sent.at = (local + timedelta(minutes=zone)).replace(tzinfo=UTC)
    except (ValueError, OverflowError):
        such = f"{timezone.now():%Y-%m-%d %H:%M}"
        filled.trouble("at", say("Not a day and a time.\nAllowed: such as {such}.", such=such))
        return
    if before is not None and before.at.replace(second=0, microsecond=0) == sent.at:
        sent.at = before.at
    if sent.at > timezone.now() + AHEAD:
        ahead = sent.clock_ahead_s or 0.0
        words = say("In the future. Is the clock of the phone right?")
        if ahead > CLOCK_OFF_S:
            off = say("It is {ahead} ahead of the server's.", ahead=apart(ahead))
            words = f"{words} {off}"
        filled.trouble("at", words)
    elif sent.at < OLDEST:
        words = say(
            "Before anybody wrote such a log.\nAllowed: from {oldest}.", oldest=f"{OLDEST:%Y-%m-%d}"
        )
        filled.trouble("at", words)


def _photos_kept(filled: Filled, before: Any) -> tuple[ReadPhoto, ...]:
    if before is None:
        return ()
    there = {str(uid): uid for uid in before.photos.values_list("uid", flat=True)}
    wanted = None if filled.kept is None else [there[one] for one in filled.kept if one in there]
    return carried(before, wanted)


def _clock_ahead(text: str) -> float | None:
    """How far the sender's clock is ahead of ours, s; None where it does not say."""
    try:
        clock = datetime.fromisoformat(text.strip())
        ahead = (clock - timezone.now()).total_seconds()
    except (ValueError, TypeError, OverflowError):
        return None
    return ahead if math.isfinite(ahead) else None


def _read_photos(sent: Sent, request: HttpRequest, before: Any) -> None:
    """New photos, and those of the entry before that were not taken out."""
    files = [file for file in request.FILES.getlist("photos") if file.name]
    if before is not None and "keeps" in request.POST:  # a form that shows them
        sent.filled.kept = frozenset(request.POST.getlist("keep"))
    try:
        # One after the other, so that only one of them is held decoded.
        photos = read_photos((str(file.name), file.read()) for file in files)
        sent.photos = joined(_photos_kept(sent.filled, before), photos)
    except PhotoError as error:
        sent.filled.trouble("photos", str(error).replace("\n  ", "\n"))
