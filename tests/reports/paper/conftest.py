"""Reports made once for all tests of paper; pages as pictures, and what a PDF holds."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from tests.reference import lacking
from tests.web.browser.conftest import no_barrier, no_sideways
from tripmargin.machine import load_machine
from tripmargin.reports.paper.commissioning import commissioning_report
from tripmargin.reports.paper.document import Document
from tripmargin.reports.paper.typesetting import pdf_of

MADE = datetime(2026, 11, 29, 12, 0, tzinfo=UTC)
DPI = 60
MARGIN_MM = 8.0  # nothing is printed nearer to an edge: most printers reach 5 mm

__all__ = ["no_barrier", "no_sideways"]


@pytest.fixture(scope="session")
def commissioning() -> Document:
    """The commissioning report of a demo machine."""
    return commissioning_report(load_machine("whimbrel"), made=MADE, by="Robin Fen")


@pytest.fixture(scope="session")
def commissioning_pdf(commissioning: Document) -> bytes:
    """The same as a PDF."""
    return pdf_of(commissioning)


def pages_of(pdf: bytes) -> list[Any]:
    """The pages of a PDF, by a library that did not write it."""
    try:
        import pymupdf
    except ImportError:
        lacking("Python package pymupdf")
    return list(pymupdf.open(stream=pdf, filetype="pdf"))


def text_of(pdf: bytes) -> str:
    """The text of a PDF in reading order, by the same library; breaks of lines are spaces."""
    text = " ".join(page.get_text() for page in pages_of(pdf))
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())


def as_pixels(page: Any) -> np.ndarray:
    """A page as grey levels from 0 to 255, (rows, columns)."""
    drawn = page.get_pixmap(dpi=DPI, colorspace="gray")
    return np.frombuffer(drawn.samples, np.uint8).reshape(drawn.height, drawn.stride)[
        :, : drawn.width
    ]


def require_whole_pages(pdf: bytes) -> None:
    """No page is blank, none holds one lonely line, and nothing reaches its edges."""
    edge = round(MARGIN_MM / 25.4 * DPI)
    for number, page in enumerate(pages_of(pdf), 1):
        grey = as_pixels(page)
        assert (grey < 128).mean() > 0.002, f"page {number} is blank"
        inside = grey[edge:-edge, edge:-edge]
        assert (grey == 255).sum() == (inside == 255).sum() + (grey.size - inside.size), (
            f"something reaches the edge of page {number}"
        )
        lines = [line for line in page.get_text().splitlines() if line.strip()]
        assert len(lines) > 4, f"page {number} holds {lines}"  # two of them are the footer


def reader_of(pdf: bytes) -> Any:
    """A PDF opened by a second library."""
    from pypdf import PdfReader

    return PdfReader(io.BytesIO(pdf))
