"""What a person's words mean for a card: a complaint, one of its words, a meter's reading."""

from __future__ import annotations

import re

from tripmargin.faultfinding.cases.case import Case
from tripmargin.faultfinding.cases.so_far import done_so_far
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.faultfinding.suspects.looks import Question
from tripmargin.faultfinding.suspects.machine_problem import (
    ASK,
    CANNOT_TELL,
    SAW_ELSE,
    MachineProblem,
)
from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.errors import QuantityError
from tripmargin.ground.languages import say
from tripmargin.ground.quantities import quantity
from tripmargin.ground.typed import spelled_quantity

OVERLOAD = ("ol", "o.l", "o.l.", "0l", "overload")
_BARE = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)")
_SPELT = {
    **dict.fromkeys(("k", "K", "Kohm", "kOhm", "kohms", "kΩ"), "kohm"),
    **dict.fromkeys(("M", "Mohm", "MOhm", "MΩ", "Mohms"), "Mohm"),
    **dict.fromkeys(("R", "r", "Ohm", "ohms", "Ohms", "Ω"), "ohm"),
    **dict.fromkeys(("v", "volt", "volts", "Volt", "Volts"), "V"),
}
MEGOHM = 1e6


def complaint_of(text: str) -> str:
    """A complaint by its number, its words or its sentence; else the text itself, unknown."""
    said = text.strip()
    names = list(COMPLAINTS)
    if said.isdecimal() and 1 <= int(said) <= len(names):
        return names[int(said) - 1]
    for name, sentence in COMPLAINTS.items():
        if said.lower() in (name, sentence.lower(), say(sentence).lower()):
            return name
    return said


def finding_of(of: MachineProblem, check: str, text: str) -> str | float:
    """What `Case.record` takes for a text: a word as it is, or a meter's reading in V or ohm.

    Raises
    ------
    QuantityError
        If it is no word of a meter's look and no reading either.
    """
    if check == ASK:
        return complaint_of(text)
    question = of.questions.get(check)
    known = (*(question.words if question else ()), CANNOT_TELL, SAW_ELSE)
    words = {word_said(word).lower(): word for word in known}
    words |= {question.said(word).lower(): word for word in known} if question else {}
    words |= {word.lower(): word for word in known}
    said = text.strip()
    if question is None or said.lower() in words:
        return words.get(said.lower(), said)
    return said if question.bands is None else reading_of(question, said)


def reading_of(question: Question, text: str) -> str | float:
    """A meter's reading, with or without its unit; the highest range's word for overload.

    Raises
    ------
    QuantityError
        If it is no reading.
    """
    assert question.bands is not None
    unit, text = question.bands.unit, typed(text)
    if text.lower() in (*OVERLOAD, say("overload").lower()) and unit == "ohm":
        return question.bands.words[-1]
    try:
        value = _value_of(text, unit)
    except QuantityError as error:  # its example is one for a file, which has decimal points
        told = (error.value, error.problem, error.allowed, error.hint)
        raise QuantityError(*(spelled_quantity(each) for each in told)) from None
    if unit == "ohm" and value < 0:
        raise QuantityError(
            spelled_quantity(text),
            say("a resistance below zero"),
            say('a reading such as "18 ohm", "2.4 kohm" or "OL"'),
            say("A live circuit does that to a meter: take the battery off and measure again."),
        )
    return value


def _value_of(text: str, unit: str) -> float:
    if _BARE.fullmatch(text):
        return float(text)
    spelt = _spelt(text)
    if spelt.endswith("Mohm"):
        return quantity(spelt.removesuffix("Mohm") + "ohm", "resistance").nominal * MEGOHM
    return quantity(spelt, "voltage" if unit == "V" else "resistance").nominal


def with_unit(text: str, unit: str) -> str:
    """A reading with the unit chosen beside it, unless one was typed.

    >>> with_unit(" 2.4", "kohm"), with_unit("18 ohm", "kohm"), with_unit("OL", "ohm")
    ('2.4 kohm', '18 ohm', 'OL')
    """
    said = typed(text.strip())
    return f"{said} {unit}" if unit and _BARE.fullmatch(said) else said


def _spelt(text: str) -> str:
    """A reading with its unit as the rest of the project spells it.

    >>> _spelt("2.4k"), _spelt("12.1 v"), _spelt("3 Volts"), _spelt("0.5 mV")
    ('2.4 kohm', '12.1 V', '3 V', '0.5 mV')
    """
    match = re.fullmatch(r"\s*([+-]?[\d.]+)\s*([A-Za-zΩ]+)\s*", text)
    if match is None:
        return text
    return f"{match[1]} {_SPELT.get(match[2], match[2])}"


def read_as(case: Case) -> str:
    """What the last reading was taken as; empty where the last entry is none."""
    done = done_so_far(case)
    if not done or case.entries[-1].get("reading") is None:
        return ""
    return say("Read as {reading}.", reading=done[-1].found)
