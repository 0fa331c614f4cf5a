"""Photos of an entry: looked into before they are kept, and written together with the entry."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from uuid import UUID

from PIL import Image, ImageOps

from tripmargin.ground.errors import TripmarginError, shortened
from tripmargin.ground.languages import later, say
from tripmargin.records.keeping.entries import EntryConflictError, NewEntry, Written, write_entry
from tripmargin.records.keeping.in_turn import writing_in_turn
from tripmargin.records.store.models import Entry, Machine, Person, Photo

MOST = 6
LARGEST = 8 * 1024 * 1024  # bytes of one photo
MOST_PIXELS = 40_000_000
SMALL = 480  # pixels, the longer side of the one in the list
ALLOWED = later("a photo as JPEG, PNG or WebP, at most {largest} MB and {pixels} megapixels")

# A picture of a few bytes can ask for gigabytes when it is decoded: Pillow warns from here on, and
# refuses from twice this, when it has read the header alone. We refuse from here on, below.
Image.MAX_IMAGE_PIXELS = MOST_PIXELS

# A photo of the most pixels takes up to 0.6 GB while it is decoded (WebP; measured), and eight
# people may send one at once. A process decodes one at a time, and always in the same thread: the C
# library keeps for each thread what it once took.
_DECODER = ThreadPoolExecutor(1, thread_name_prefix="photos")

_TYPES = {"JPEG": "image/jpeg", "MPO": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
_READ = ("JPEG", "PNG", "WEBP")
_ORIENTATION = 0x0112  # EXIF 2.32, table 4
_ON_ITS_SIDE = (5, 6, 7, 8)


def allowed_photo() -> str:
    """What is taken as a photo."""
    return say(ALLOWED, largest=LARGEST // 1024**2, pixels=MOST_PIXELS // 1_000_000)


class PhotoError(TripmarginError, ValueError):
    """A photo that is not kept; `.name` is the file's, and nothing was written."""

    def __init__(self, name: str, problem: str, hint: str = "", allowed: str = "") -> None:
        allowed = allowed or allowed_photo()
        self.name, self.problem, self.allowed, self.hint = name, problem, allowed, hint
        seen = f'"{shortened(name)}": ' if name else ""
        text = say(
            "{seen}{problem}.\n  Allowed: {allowed}.", seen=seen, problem=problem, allowed=allowed
        )
        super().__init__(f"{text}\n  {hint}" if hint else text)


@dataclass(frozen=True, slots=True)
class ReadPhoto:
    """A photo that was looked into.

    Attributes
    ----------
    content : bytes
        As it came.
    content_type : str
        By what it holds, never by its name.
    width, height : int, pixels
        As it is looked at: turned where its camera says so.
    digest : str
        SHA-256 of the content, in hexadecimal.
    small : bytes
        A JPEG for a list, `SMALL` pixels at most, without the data that a camera adds.
    """

    content: bytes
    content_type: str
    width: int
    height: int
    digest: str
    small: bytes


def read_photo(content: bytes, name: str = "") -> ReadPhoto:
    """Look into a photo: its size from its header first, then all of it.

    Raises
    ------
    PhotoError
        If it is empty, too large, no picture of a kind that is taken, or not whole.
    """
    if not content:
        raise PhotoError(name, say("an empty file"), say("Take the photo again."))
    if len(content) > LARGEST:
        raise PhotoError(
            name, say("{size:.1f} MB is too large", size=len(content) / 1024**2), say(_SMALLER)
        )
    return _DECODER.submit(_looked_into, content, name).result()


def _looked_into(content: bytes, name: str) -> ReadPhoto:
    """The same of a photo of a size that is taken."""
    try:
        with Image.open(BytesIO(content), formats=_READ) as image:
            _refuse_too_many_pixels(image, name)
            content_type = _TYPES[image.format or ""]
            width, height = image.size
            if image.getexif().get(_ORIENTATION) in _ON_ITS_SIDE:
                width, height = height, width
            small = _small(image)
    except PhotoError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise PhotoError(name, say("far too many pixels for its size"), say(_SMALLER)) from error
    except Exception as error:
        # A decoder that is fed with anything at all may raise anything at all.
        raise PhotoError(name, *_what_it_is(content)) from error
    return ReadPhoto(content, content_type, width, height, sha256(content).hexdigest(), small)


_SMALLER = later("Set the camera to smaller pictures, or send a smaller copy.")


def _refuse_too_many_pixels(image: Image.Image, name: str) -> None:
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise PhotoError(
            name,
            say(
                "{width} x {height} are {pixels:.0f} megapixels",
                width=width,
                height=height,
                pixels=width * height / 1e6,
            ),
            say(_SMALLER),
        )


def _small(image: Image.Image) -> bytes:
    """A small JPEG, turned as it is looked at, on a fresh canvas: nothing else comes along."""
    image.thumbnail((SMALL, SMALL))  # a JPEG is decoded at an eighth of its size for that
    turned = ImageOps.exif_transpose(image)
    canvas = Image.new("RGB", turned.size, "white")
    clear = turned.has_transparency_data
    shown = turned.convert("RGBA" if clear else "RGB")
    canvas.paste(shown, mask=shown if clear else None)
    made = BytesIO()
    canvas.save(made, "JPEG", quality=80, optimize=True)
    return made.getvalue()


def _what_it_is(content: bytes) -> tuple[str, str]:
    """What else it looks like, and what to do."""
    head = content[:512].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    again = say("Choose the photo itself.")
    if head.startswith((b"\xff\xd8\xff", b"\x89png\r\n")) or head[8:12] == b"webp":
        return say("the picture is not whole, or damaged"), say("Take it again, or choose another.")
    if content[4:8] == b"ftyp":
        return (
            say("a film, or a photo in a format that only some phones read"),
            say("Set the phone's camera to JPEG (often called the most compatible format)."),
        )
    if head.startswith((b"<", b"#!")) or b"<script" in head or b"<svg" in head:
        return say("not a photo: a text, a drawing or a page"), again
    if head.startswith((b"pk\x03\x04", b"\x1f\x8b", b"7z\xbc\xaf", b"rar!")):
        return say("not a photo: an archive"), say("Take the photo out of it first.")
    return say("not a photo that can be read"), again


def read_photos(files: Iterable[tuple[str, bytes]]) -> tuple[ReadPhoto, ...]:
    """Look into several photos, each given as its name and content; the same one twice is one.

    Raises
    ------
    PhotoError
        As in `read_photo`, or if they are too many.
    """
    read: dict[str, ReadPhoto] = {}
    for name, content in files:
        photo = read_photo(content, name)
        read[photo.digest] = photo
        _refuse_too_many(len(read))
    return tuple(read.values())


def joined(*several: Iterable[ReadPhoto]) -> tuple[ReadPhoto, ...]:
    """Photos of several sources, each once.

    Raises
    ------
    PhotoError
        If they are too many for one entry.
    """
    by_digest = {photo.digest: photo for photos in several for photo in photos}
    _refuse_too_many(len(by_digest))
    return tuple(by_digest.values())


def carried(entry: Entry, uids: Collection[UUID] | None = None) -> tuple[ReadPhoto, ...]:
    """The photos of an entry, for one that takes its place; those of some ids, or all."""
    photos = entry.photos.order_by("id")
    if uids is not None:
        photos = photos.filter(uid__in=uids)
    return tuple(
        ReadPhoto(
            bytes(one.content), one.content_type, one.width, one.height, one.digest,
            bytes(one.small),
        )
        for one in photos
    )  # fmt: skip


def _refuse_too_many(count: int) -> None:
    if count > MOST:
        raise PhotoError(
            "",
            say("too many photos"),
            say("Leave some out, or enter a note with the others."),
            say("{most} for one entry", most=MOST),
        )


def write_entry_with_photos(
    machine: Machine,
    new: NewEntry,
    photos: Sequence[ReadPhoto] = (),
    *,
    who: Person | None = None,
    who_name: str = "",
) -> Written:
    """Write an entry and its photos, all of it or nothing.

    A second try of an entry that is there adds those photos that it lacks.

    Raises
    ------
    EntryError, EntryConflictError
        As in `write_entry`.
    PhotoError
        If the entry would have too many.
    """
    if not photos:
        return write_entry(machine, new, who=who, who_name=who_name)
    with writing_in_turn():
        written = write_entry(machine, new, who=who, who_name=who_name)
        entry = written.entry
        held = set() if written.new else set(entry.photos.values_list("digest", flat=True))
        missing = {photo.digest: photo for photo in photos if photo.digest not in held}
        if missing and entry.who_id != (who.pk if who else None):
            raise EntryConflictError(entry)
        _refuse_too_many(len(held) + len(missing))
        for photo in missing.values():
            Photo.objects.create(
                entry=entry,
                content_type=photo.content_type,
                width=photo.width,
                height=photo.height,
                size=len(photo.content),
                digest=photo.digest,
                content=photo.content,
                small=photo.small,
            )
    return written


__all__ = [
    "PhotoError",
    "ReadPhoto",
    "carried",
    "joined",
    "read_photo",
    "read_photos",
    "write_entry_with_photos",
]
