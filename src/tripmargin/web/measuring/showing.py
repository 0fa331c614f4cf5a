"""What was learned, and the piece to pass next, made ready for a page."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import partial
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.quantities import Quantity
from tripmargin.ground.units import DIMENSIONS, shown
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.pictures.learned_bars import LearnedRow, learned_picture
from tripmargin.pictures.pass_place import pass_place_picture
from tripmargin.recordings.calibrating import NextPass
from tripmargin.records.kinds import KINDS
from tripmargin.records.standing.findings import across_words
from tripmargin.sensing.piece_said import said_piece
from tripmargin.stopping import metal_speed
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.log.boxes import PREFIX, written_of
from tripmargin.web.log.telling import title_of
from tripmargin.web.machines.naming import called
from tripmargin.web.machines.turns import in_file
from tripmargin.web.measuring.learning import Asked, Learned, counted
from tripmargin.web.measuring.plain_words import quoted

LITTLE = 0.05
"""bits: an answer that was to be expected with some 99 % tells less."""
_PATH = re.compile(r"\b(?:chain|feed|sensor|detector)(?:\.\w+)+")
FOUND_AS_BALL = later(
    "Found metal is taken as a steel ball of its size, wherever across the roll and at whatever"
    " height it came."
)


@dataclass(frozen=True, slots=True)
class Card:
    """The piece to pass next.

    `hidden` are the fields of the entry that an answer makes; `by_hand` fills the form in which
    another piece is entered, and `others` does so for each of the yard's other pieces, by its name.
    `little`: the answer is hardly open, so the yard's pieces tell little more.
    """

    piece: str
    where: str
    height: str
    speed: str
    cut: str
    chance: str
    picture: str
    hidden: dict[str, str]
    by_hand: str
    others: tuple[tuple[str, str], ...] = ()
    little: bool = False


def card_of(
    request: HttpRequest, loaded: LoadedMachine, one: NextPass, owned: tuple[str, ...] = ()
) -> Card:
    """A pass as a card."""
    us = us_units(request)
    try:
        picture = pass_place_picture(
            loaded, one.piece.name, max(one.piece.dimensions), x=one.x, height=one.height,
            width=picture_width(request), sun=in_the_sun(request), us=us,
        )  # fmt: skip
    except NotKnownError:
        picture = ""  # the words say it
    cuts = loaded.feed.cut_lengths if loaded.feed is not None else ()
    cut = next((c for c in cuts if abs(metal_speed(loaded, c) / one.speed - 1) < 1e-6), None)
    values: dict[str, Any] = {
        "piece": one.piece.name, "across_m": one.x, "height_m": one.height, "speed_m_s": one.speed,
    }  # fmt: skip
    fields = {key: KINDS["test pass"].field_of(key) for key in values}
    boxes = {
        key: written_of(values[key], field, us=us)
        for key, field in fields.items()
        if field is not None
    }
    return Card(
        piece=said_piece(one.piece.name),
        where=across_words(one.x, us=us),
        height=shown(one.height, "length", us=us),
        speed=shown(one.speed, "speed", us=us, digits=3),
        cut="" if cut is None else shown(cut, "length", us=us),
        chance=chance_words(one.chance),
        picture=picture,
        hidden={f"{PREFIX}{key}": text for key, text in boxes.items()},
        by_hand=urlencode({**boxes, "back": "measure"}),
        others=tuple(
            (said_piece(name), urlencode({**boxes, "piece": name, "back": "measure"}))
            for name in owned
            if name != one.piece.name
        ),
        little=one.bits < LITTLE,
    )


def chance_words(chance: float) -> str:
    """A chance to the whole per cent: it is a mean over some hundred sensors that may be there.

    >>> chance_words(0.456), chance_words(0.004), chance_words(0.9996)
    ('46 %', 'under 1 %', 'over 99 %')
    """
    if chance < 0.01:
        return say("under 1 %")
    return say("over 99 %") if chance > 0.99 else f"{100 * chance:.0f} %"


def file_words(given: Quantity, *, us: bool) -> str:
    """A value of the file as people write it; as the file has it where it is in their units.

    >>> from tripmargin.ground.quantities import quantity
    >>> file_words(quantity("1315 +- 260 (sd)", "number"), us=False)
    '1315 ± 260 (sd)'
    >>> file_words(quantity("0.00045 kg m2 +- 9 %", "moment of inertia"), us=False)
    '0.00045 kg m² ± 9 %'
    """
    kind, text = DIMENSIONS[given.dimension], given.text
    unit = re.escape(kind.us if us else kind.metric)
    theirs = bool(text) and re.search(rf"(?<![\w/]){unit}(?![\w/])", text) is not None
    said = text if theirs else in_file(given, us=us)
    said = said.replace("+-", "±").replace("kg m2", "kg m²")
    low, between, high = said.partition(" .. ")
    return say("{low} to {high}", low=low, high=high) if between else said


def by_names(text: str) -> str:
    """A sentence with the fields' names for their paths.

    >>> by_names("Version 2 of the file changed detector.gain and 1 more.")
    'Version 2 of the file changed “Gain, detector” and 1 more.'
    """
    return _PATH.sub(lambda found: quoted(called(found[0])), text)


def page_of(request: HttpRequest, asked: Asked, learned: Learned) -> dict[str, Any]:
    """What the part of the page shows that stands on what was learned."""
    us, made = us_units(request), learned.calibration
    page: dict[str, Any] = {
        "learned": learned,
        "card": None
        if learned.next_piece is None
        else card_of(request, asked.loaded, learned.next_piece, asked.owned),
        "owned": asked.owned,
        "findings": [(one, title_of(one.kind), one.words[int(us)]) for one in learned.used],
        "counted": listed(counted(learned.used)),
        "notes": [by_names(line) for line in asked.findings.notes],
    }
    if made is None:
        return page
    rows = _rows(learned, us)
    page["rows"] = [
        (row.text, _span(row.before, row.said), _span(row.after, row.said)) for row in rows
    ]
    look: dict[str, Any] = {"width": picture_width(request), "sun": in_the_sun(request)}
    page["bars"] = learned_picture(rows, **look)
    page["fields"] = [
        (
            called(one.path),
            one.path,
            file_words(one.before, us=us),
            file_words(one.after, us=us),
        )
        for one in made.fields
    ]
    trips = any(one.kind == "trip" for one in learned.used)
    page["assumed"] = (*map(by_names, made.assumed), *([say(FOUND_AS_BALL)] if trips else []))
    return page


def _rows(learned: Learned, us: bool) -> list[LearnedRow]:
    """What there is a before and an after of."""
    made, was = learned.calibration, learned.before
    assert made is not None
    length = partial(_quantity, dimension="length", us=us)
    time = partial(_quantity, dimension="time", us=us)
    told = (
        (say("Ball that is just seen"), was.smallest_seen, made.smallest_seen, length),
        (
            say("Signal against the threshold, times what the file says"),
            was.signal,
            made.signal,
            _times,
        ),
        (
            say("Stop time, each tooth waited for half its pitch"),
            was.stop_time,
            made.stop_time,
            time,
        ),
    )
    return [
        LearnedRow(text, _limits(old), after, said)
        for text, old, new, said in told
        if (after := _limits(new)) is not None
    ]


def _limits(value: Any) -> tuple[float, float, float] | None:
    return None if value is None else (value.low, float(value), value.high)


def _span(limits: tuple[float, float, float] | None, said: Any) -> str:
    if limits is None:
        return say("not known")
    low, middle, high = map(said, limits)
    return say("{value} ({low} to {high})", value=middle, low=low, high=high)


def _quantity(value: float, dimension: str, us: bool) -> str:
    return shown(value, dimension, us=us, digits=3)


def _times(value: float) -> str:
    return say("{value:.2f} times", value=value)
