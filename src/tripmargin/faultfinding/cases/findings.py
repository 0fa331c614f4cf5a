"""The entry that a finding makes: one of a card's words, or a meter's reading and its range."""

from __future__ import annotations

from math import inf, isfinite
from typing import Any

from tripmargin.circuit import HEARD
from tripmargin.faultfinding.cases.cards import FAILED, PASSED
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.looks import Question
from tripmargin.faultfinding.suspects.machine_problem import (
    ASK,
    CANNOT_TELL,
    SAW_ELSE,
    MachineProblem,
)
from tripmargin.faultfinding.suspects.repairs import HAND_OVER
from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import say


def entry_of(of: MachineProblem, check: str, finding: str | float) -> tuple[str, dict[str, Any]]:
    """Kind and fields of the entry that a finding makes.

    Parameters
    ----------
    of : MachineProblem
    check, finding
        As `Case.record` takes them.

    Raises
    ------
    ProblemError
        If there is no such card or word.
    """
    if check == ASK:
        return "finding", {"check": ASK, "word": _one_of(ASK, finding, tuple(COMPLAINTS))}
    if check in of.questions:
        question = of.questions[check]
        words = (*question.words, CANNOT_TELL, SAW_ELSE)
        if question.bands is not None and _is_number(finding):
            return "finding", {"check": check, **_reading(question, float(finding))}
        if question.kind == "buzzer":
            finding = heard(str(finding))
        return "finding", {"check": check, "word": _one_of(check, finding, words)}
    if check == HAND_OVER:
        return "hand over", {"why": str(finding)}
    if check in of.works:
        return "repair", {"repair": check, "word": _one_of(check, finding, (PASSED, FAILED))}
    near = nearest(check, (ASK, *of.questions, *of.works))
    hint = say("Did you mean {near!r}?", near=near) if near else ""
    allowed = say("a card's id, such as {card!r}", card=next(iter(of.questions), ASK))
    raise ProblemError("check", check, say("no such card"), allowed, hint)


def failed_step(
    of: MachineProblem, kind: str, fields: dict[str, Any], step: int | None
) -> dict[str, int]:
    """The step at which a daily test failed, as it goes into the entry; empty where none is said.

    Raises
    ------
    ProblemError
        If the test has no such step, or did not fail.
    """
    if step is None:
        return {}
    if kind != "repair" or fields["word"] != FAILED or not 1 <= step <= of.daily_steps:
        raise ProblemError(
            say("daily test"),
            step,
            say("no step at which it failed"),
            say("1 to {last}, of a daily test that failed", last=of.daily_steps),
            say("Leave the step out where it is not known."),
        )
    return {"failed_at": step}


def heard(word: str) -> str:
    """What a buzzer was said to do, in today's words: cases once had a lamp's for it.

    >>> heard("dim"), heard("silent")
    ('sounds weakly', 'silent')
    """
    return HEARD.get(word, word)


def _one_of(check: str, finding: object, words: tuple[str, ...]) -> str:
    if finding in words:
        return str(finding)
    near = nearest(str(finding), words)
    hint = say("Did you mean {near!r}?", near=near) if near else ""
    raise ProblemError(check, finding, say("no such finding"), ", ".join(words), hint)


def _reading(question: Question, reading: float) -> dict[str, Any]:
    """A meter's reading and the range it falls in; overload is a range without a number."""
    assert question.bands is not None
    unit = question.bands.unit
    if not (isfinite(reading) or (unit == "ohm" and reading == inf)):
        raise ProblemError(
            question.id, reading, say("no reading of a meter"), say("a number of {unit}", unit=unit)
        )
    if not question.bands.possible(reading):
        raise ProblemError(
            question.id,
            f"{reading:g} {unit}",
            say("nothing here could read so"),
            say(
                "{least:.0f} to {most:.0f} {unit}",
                least=question.bands.least,
                most=question.bands.most,
                unit=unit,
            ),
            say(
                "Are the probes the right way round, and the meter on the right range? If it"
                " still reads so, record '{word}'.",
                word=SAW_ELSE,
            ),
        )
    word = question.bands.word(reading)
    return {"word": word, "reading": reading} if isfinite(reading) else {"word": word}


def _is_number(finding: object) -> bool:
    return isinstance(finding, (int, float)) and not isinstance(finding, bool)
