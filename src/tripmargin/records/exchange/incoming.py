"""One entry of a file, before it is known whether it can be taken."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid5

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import later, say
from tripmargin.records.kinds import Wrong

# Made once for this use: entries that bring no id get one from what they say (RFC 9562, version 5),
# so that the same file imported twice is known.
_FROM_CONTENT = UUID("7b0c4a52-0d6e-4a57-9c38-2f1f6e5d1a90")
TIMES = later('a time such as "2026-03-01T07:30" or "2026-03-01T07:30:00+01:00"')


@dataclass(slots=True, kw_only=True)
class Incoming:
    """An entry as a file gives it; `wrong` is what was wrong already in its own text."""

    line: int
    machine: str
    kind: str
    at: datetime | None
    values: dict[str, Any]
    uid: UUID | None = None
    received_at: datetime | None = None
    clock_ahead_s: float | None = None
    who: str = ""
    corrects: UUID | None = None
    note: str = ""
    source: str = "import"
    version: int | None = None
    photos: list[Any] = field(default_factory=list)
    wrong: list[Wrong] = field(default_factory=list)

    def content(self) -> tuple[Any, ...]:
        """What makes it this entry and no other, besides its machine."""
        at = self.at.astimezone(UTC) if self.at else None
        return (self.kind, at, self.values, self.note, self.corrects)

    def digest(self, machine: str) -> bytes:
        """Sixteen bytes of its content and its machine's id."""
        kind, at, values, note, corrects = self.content()
        said = [machine, kind, str(at), sorted(values.items()), note, str(corrects)]
        return hashlib.blake2b(json.dumps(said).encode(), digest_size=16).digest()

    def id_from_content(self, machine: str) -> UUID:
        """An id that the same entry gets again."""
        return uuid5(_FROM_CONTENT, self.digest(machine).hex() + self.who)


def read_time(key: str, text: str, *, zone_needed: bool = False) -> tuple[datetime, bool] | Wrong:
    """A time and whether it brought its zone; without one it is this computer's."""
    try:
        moment = datetime.fromisoformat(text.strip())
        given = moment.tzinfo is not None
        if not given and zone_needed:
            return Wrong(
                key, text, say("no time zone"), say("a time with its zone, such as ...+01:00 or Z")
            )
        return moment.astimezone(UTC), given
    except (ValueError, OverflowError, OSError):
        return Wrong(key, text, say("not a time"), say(TIMES))


def read_id(key: str, text: str) -> UUID | Wrong:
    """An id."""
    try:
        return UUID(text.strip())
    except ValueError:
        return Wrong(
            key,
            shortened(text),
            say("not an id"),
            say("a UUID of 32 hexadecimal signs"),
            say("Leave it out, and the entry gets one of its own."),
        )


def bad_letters(key: str, text: str) -> Wrong | None:
    """What no database keeps: zero bytes and halves of letters."""
    if "\0" in text:
        return Wrong(
            key, text.replace("\0", "?"), say("a zero byte in the text"), say("letters and signs")
        )
    if any("\ud800" <= sign <= "\udfff" for sign in text):
        shown = text.encode("ascii", "replace").decode()
        return Wrong(
            key, shown, say("half of a letter in the text"), say("whole letters, in UTF-8")
        )
    return None
