"""Photos of a JSON file: looked into as if somebody had just sent them."""

from __future__ import annotations

import base64
import binascii
from hashlib import sha256
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.records.exchange.items import Item
from tripmargin.records.home import RecordsError
from tripmargin.records.keeping.photos import LARGEST, MOST, PhotoError, read_photo
from tripmargin.records.kinds import Wrong
from tripmargin.records.store.models import Entry, Photo

_PHOTO = ("uid", "content_type", "width", "height", "added_at", "content")
_LONGEST = LARGEST * 4 // 3 + 4


def wrong_photos(given: list[Any]) -> list[Wrong]:
    """Everything that is wrong with the photos of one entry."""
    found: list[Wrong] = []
    for place, one in enumerate(given):
        found += _read(one, place)[1]
    return found


def too_many_photos(entry: Entry, given: list[Any]) -> list[Wrong]:
    """Whether an entry that is kept would have more photos than a form takes."""
    held = set(entry.photos.values_list("digest", flat=True))
    texts = (one["content"] for one in given)  # looked into already
    coming = {sha256(base64.b64decode(text)).hexdigest() for text in texts}
    if len(held | coming) <= MOST:
        return []
    return [
        Wrong(
            "photos",
            str(len(coming)),
            say("the entry has {held} of others already", held=len(held)),
            say("{most} for one entry", most=MOST),
        )
    ]


def write_photos(entry: Entry, given: list[Any]) -> int:
    """Add those photos that the entry lacks; how many."""
    held = set(entry.photos.values_list("digest", flat=True))
    count = 0
    for place, one in enumerate(given):
        photo, wrong = _read(one, place)
        if wrong or photo is None:
            raise AssertionError("photos are written when all of them were looked into")
        if photo.digest not in held and not Photo.objects.filter(uid=photo.uid).exists():
            photo.entry = entry
            photo.save(force_insert=True)
            held.add(photo.digest)
            count += 1
    if count and len(held) > MOST:
        raise RecordsError(
            say(
                "The entry {uid} stands in the file several times, with more than {most} photos."
                " Nothing was written.",
                uid=entry.uid,
                most=MOST,
            )
        )
    return count


def _read(given: Any, place: int) -> tuple[Photo | None, list[Wrong]]:
    item = Item(given, _PHOTO, f"photos[{place}].")
    uid, added_at = item.uid("uid", needed=True), item.moment("added_at", needed=True)
    text = item.text("content", _LONGEST, needed=True)
    if item.wrong:
        return None, item.wrong
    try:
        read = read_photo(base64.b64decode(text, validate=True))
    except binascii.Error:
        allowed = say("the photo's bytes in base64")
        return None, [Wrong(f"{item.where}content", text, say("not base64"), allowed)]
    except PhotoError as error:
        wrong = Wrong(f"{item.where}content", "", error.problem, error.allowed, error.hint)
        return None, [wrong]
    made = Photo(
        uid=uid, content_type=read.content_type, width=read.width, height=read.height,
        size=len(read.content), digest=read.digest, content=read.content, small=read.small,
        added_at=added_at,
    )  # fmt: skip
    return made, []
