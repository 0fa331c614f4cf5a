"""How a report is asked for by a form: on which paper, as which file; and the file as an answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse

from tripmargin.ground.languages import later, say
from tripmargin.records.keeping.machines import safe_name
from tripmargin.reports.paper import PAPERS, Document, html_of, pdf_of

PDF, HTML = "pdf", "html"
TYPES = {PDF: "application/pdf", HTML: "text/html; charset=utf-8"}
PAPER_WORDS = {"a4": later("A4"), "letter": later("Letter")}


@dataclass(frozen=True, slots=True)
class Manner:
    """On which paper, and as which file."""

    paper: str
    ending: str


class AskedError(ValueError):
    """A form with a mistake: `field` is its name, the text says what is allowed."""

    def __init__(self, field: str, words: str) -> None:
        self.field = field
        super().__init__(words)


def manner_of(request: HttpRequest) -> Manner:
    """How a request asks for its report; A4 and PDF where it does not say.

    Raises
    ------
    AskedError
        If there is no such paper or no such file.
    """
    paper, ending = request.GET.get("paper", "a4"), request.GET.get("as", PDF)
    if paper not in PAPERS:
        raise AskedError("paper", say("No such paper. Allowed: A4 or Letter."))
    if ending not in TYPES:
        raise AskedError("as", say("No such file. Allowed: pdf or html."))
    return Manner(paper, ending)


def now() -> datetime:
    """The time that stands on the report, with its zone, to the second."""
    return datetime.now().astimezone().replace(microsecond=0)


def papers() -> list[tuple[str, str]]:
    """The papers to choose from."""
    return [(key, say(words)) for key, words in PAPER_WORDS.items()]


def answer(document: Document, manner: Manner, name: str) -> HttpResponse:
    """The report as a file to save."""
    content: Any = pdf_of(document) if manner.ending == PDF else html_of(document)
    made = HttpResponse(content, content_type=TYPES[manner.ending])
    stem = safe_name(name).removesuffix(".toml")
    made.headers["Content-Disposition"] = f'attachment; filename="{stem}.{manner.ending}"'
    return made
