"""Records that come as codes off a phone's screen: texts or photos of them, in any order."""

from __future__ import annotations

import re
import zlib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.records.home import RecordsError

PHOTOS, TEXTS = (".png", ".jpg", ".jpeg", ".webp"), (".txt",)
LARGEST_PHOTO, LARGEST_TEXT = 50_000_000, 5_000_000  # bytes
MOST_PARTS = 2000
_CODE = re.compile(r"TM1 (?P<sum>[0-9a-f]{8}) (?P<part>\d{1,4})/(?P<of>\d{1,4}) (?P<text>.*)")


@dataclass(frozen=True, slots=True)
class Code:
    """One code: a part of some records, known by the CRC-32 of all their bytes."""

    sum: str
    part: int
    of: int
    text: str


def code_of(text: str) -> Code | None:
    """A code's text taken apart; None where it is not one of the card's.

    >>> code_of('TM1 8a4bb3ee 1/2 {"tripmargin":"rec').part
    1
    """
    found = _CODE.fullmatch(text.strip("\r\n"))
    if found is None:
        return None
    part, of = int(found["part"]), int(found["of"])
    return Code(found["sum"], part, of, found["text"]) if 1 <= part <= of <= MOST_PARTS else None


def records_of(paths: Sequence[Path]) -> bytes:
    """The JSON file whose parts are in these photos and texts.

    Parameters
    ----------
    paths : sequence of Path
        Photos of codes (.png, .jpg, .jpeg, .webp), and texts with one code a line (.txt).

    Raises
    ------
    RecordsError
        If a file cannot be read or holds no code of a card, parts of two are mixed, one is missing,
        or a part was read wrongly.
    """
    codes = [code for path in paths for code in _codes_in(path)]
    sums = Counter((code.sum, code.of) for code in codes)
    if len(sums) > 1:
        said = ", ".join(
            say("{count} of {name} (of {of} parts)", count=count, name=name, of=of)
            for (name, of), count in sums.items()
        )
        raise RecordsError(
            say(
                "The codes are of different records: {said}.\n  Allowed: the codes of one"
                " sending. Show them anew on the card, and read all of them.",
                said=said,
            )
        )
    ((name, of),) = sums
    parts: dict[int, str] = {}
    for code in codes:
        if parts.setdefault(code.part, code.text) != code.text:
            raise RecordsError(
                say(
                    "Code {part} of {of} was read in two ways. Read it once more.",
                    part=code.part,
                    of=of,
                )
            )
    missing = [str(k) for k in range(1, of + 1) if k not in parts]
    if missing:
        raise RecordsError(
            say(
                "{parts} of {of} codes are there. Missing: {missing}.\n  Show them on the"
                " card, and read them too.",
                parts=len(parts),
                of=of,
                missing=", ".join(missing),
            )
        )
    made = "".join(parts[k] for k in range(1, of + 1)).encode()
    if f"{zlib.crc32(made):08x}" != name:
        raise RecordsError(
            say(
                "All codes are there, but not as the card wrote them: a sign was lost or"
                " changed.\n  Photograph the codes, or take the file that the card saves."
            )
        )
    return made


def _codes_in(path: Path) -> list[Code]:
    suffix = path.suffix.lower()
    if suffix not in (*PHOTOS, *TEXTS):
        allowed = ", ".join((*PHOTOS, *TEXTS))
        raise RecordsError(
            say(
                "{name}: not a photo or a text of codes. Allowed: {allowed}.",
                name=path.name,
                allowed=allowed,
            )
        )
    largest = LARGEST_PHOTO if suffix in PHOTOS else LARGEST_TEXT
    if path.stat().st_size > largest:
        raise RecordsError(
            say(
                "{name}: too large. Allowed: at most {largest:.0f} MB.",
                name=path.name,
                largest=largest / 1e6,
            )
        )
    said = _read_off(path) if suffix in PHOTOS else _lines_of(path)
    codes = [code for text in said if (code := code_of(text)) is not None]
    if not codes:
        seen = shortened(next(iter(said), ""))
        if seen:
            raise RecordsError(
                say(
                    '{name}: no code of a card: it says "{seen}".\n  Photograph the code straight'
                    " on, all of it, sharp; or take the file.",
                    name=path.name,
                    seen=seen,
                )
            )
        raise RecordsError(
            say(
                "{name}: no code of a card: no code is seen in it.\n  Photograph the code straight"
                " on, all of it, sharp; or take the file.",
                name=path.name,
            )
        )
    return codes


def _lines_of(path: Path) -> list[str]:
    try:
        return [line for line in path.read_text("utf-8-sig").splitlines() if line.strip()]
    except UnicodeDecodeError as error:
        raise RecordsError(say("{name}: not a text in UTF-8.", name=path.name)) from error


def _read_off(path: Path) -> list[str]:
    import zxingcpp
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(path) as opened:
            picture = ImageOps.exif_transpose(opened).convert("L")
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError) as error:
        raise RecordsError(
            say("{name}: not a picture that can be read.", name=path.name)
        ) from error
    found: Iterable[str] = (one.text for one in zxingcpp.read_barcodes(picture))
    return list(dict.fromkeys(found))
