"""Reading a report back: the numbers that travel inside it."""

from __future__ import annotations

import json
import zlib
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.reports.paper.document import FORM
from tripmargin.reports.paper.page import NUMBERS
from tripmargin.reports.paper.typesetting import ATTACHED

MOST = 100_000_000  # bytes of a report, and of the numbers unpacked from it


class ReportError(TripmarginError, ValueError):
    """A report that cannot be made or read; the text says what to do."""


def read_report(path: str | Path) -> dict[str, Any]:
    """What a report says of itself, and its numbers in SI: as `Document.to_dict` gave them.

    Parameters
    ----------
    path : path
        A report of this program, PDF or HTML.

    Raises
    ------
    ReportError
        If it is no report, or another program has taken the numbers out of it.
    OSError
        If it cannot be read.
    """
    file = Path(path)
    if file.stat().st_size > MOST:
        raise _refused(file, say("it is larger than any report"))
    content = file.read_bytes()
    if content.startswith(b"%PDF-"):
        text: str | bytes = _of_pdf(content, file)
    elif b"<html" in content[:1000].lower():
        text = _of_html(content, file)
    else:
        raise _refused(file, say("it is neither a PDF nor a page"))
    try:
        found = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise _refused(file, say("its numbers are damaged")) from error
    form = found.get("form") if isinstance(found, dict) else None
    if form != FORM:
        raise _refused(file, say("its numbers are of another form than this version reads"))
    return dict(found)


def pages_in(pdf: bytes) -> int:
    """How many pages a PDF of ours has."""
    from io import BytesIO

    from pypdf import PdfReader

    return len(PdfReader(BytesIO(pdf)).pages)


def _of_pdf(content: bytes, file: Path) -> bytes:
    import logging
    from io import BytesIO

    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    # What is wrong is said below; the library would say it too, in its own words.
    logging.getLogger("pypdf").addHandler(logging.NullHandler())
    try:
        attached = PdfReader(BytesIO(content)).attachments
        parts = attached.get(ATTACHED, [])
    except (PyPdfError, *_DAMAGED) as error:
        raise _refused(file, say("the PDF is damaged")) from error
    if len(parts) != 1:
        raise _refused(file, say("the PDF holds no numbers of a report"))
    return bytes(parts[0])


_DAMAGED = (
    ArithmeticError, AssertionError, AttributeError, LookupError, MemoryError, OSError,
    RecursionError, TypeError, ValueError, zlib.error,
)  # fmt: skip
"""What a library may raise over a file that somebody damaged, or made to do harm."""


def _of_html(content: bytes, file: Path) -> str:
    finder = _Finder()
    finder.feed(content.decode("utf-8", errors="replace"))
    if len(finder.found) != 1:
        raise _refused(file, say("the page holds no numbers of a report"))
    return "".join(finder.found[0])


class _Finder(HTMLParser):
    """The text of each element that holds numbers, in the pieces in which it came."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[list[str]] = []
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin to listen at an element with numbers."""
        self._inside = tag == "script" and ("id", NUMBERS) in attrs
        if self._inside:
            self.found.append([])

    def handle_endtag(self, tag: str) -> None:
        """Stop listening."""
        self._inside = False

    def handle_data(self, data: str) -> None:
        """Keep what stands inside."""
        if self._inside:
            self.found[-1].append(data)


def _refused(file: Path, why: str) -> ReportError:
    return ReportError(
        say(
            "{file}: not a report that can be read back: {why}.\n"
            "  Allowed: a PDF or an HTML file that `tripmargin report` has written, unchanged.",
            file=file,
            why=why,
        )
    )
