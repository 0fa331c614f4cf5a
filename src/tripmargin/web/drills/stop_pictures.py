"""Pictures beside the pieces to judge: where a piece lies, and where it stands on the map."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tripmargin import drills as d
from tripmargin.drills.would_it_stop_answers import answer_said
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.pictures.would_it_stop import asked_picture, told_picture

_BESIDE = 480.0
"""px. A picture that stands beside words is no wider, however wide the screen is."""


@dataclass(frozen=True, slots=True)
class Judged:
    """A piece that was answered: what was asked, said and calculated, and where it stands.

    `place` and `on_map` are SVG, or empty where the machine's file does not give them.
    """

    number: int
    piece: str
    asked: tuple[tuple[str, str], ...]
    answer: str
    region: str
    points: float
    told: tuple[str, ...]
    place: str
    on_map: str


def place_of(question: d.Question, *, width: float, sun: bool, us: bool) -> str:
    """Where a piece lies, seen the way that the crop goes; it tells no answer."""
    try:
        return asked_picture(question, width=min(width, _BESIDE), sun=sun, us=us)
    except TripmarginError:
        return ""


def map_with(
    drill: d.WouldItStop, question: d.Question, *, width: float, sun: bool, us: bool
) -> str:
    """The protection map with a piece on it; it tells the answer."""
    try:
        made = drill.map_of(question)
    except TripmarginError:
        return ""
    if made is None:
        return ""
    return told_picture(question, made, width=min(width, _BESIDE), sun=sun, us=us)


def judged(drill: d.WouldItStop, *, width: float, sun: bool, us: bool) -> Iterator[Judged]:
    """Every piece that was answered, in the order in which they were asked."""
    for number, (each, move) in enumerate(zip(drill.answered, drill.moves, strict=True), 1):
        question = each.question
        asked = d.asked_words(question, us=us)
        yield Judged(
            number=number,
            piece=asked[0][1],
            asked=asked[1:],
            answer=answer_said(move.what) if move.what[:1].isalpha() else move.what,
            region=say(d.REGION_WORDS[question.region]),
            points=each.points,
            told=d.told_words(question, us=us),
            place=place_of(question, width=width, sun=sun, us=us),
            on_map=map_with(drill, question, width=width, sun=sun, us=us),
        )
