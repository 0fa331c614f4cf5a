"""A move in words: what was done, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tripmargin import drills as d
from tripmargin.drills.moves import PASSED
from tripmargin.drills.scoring import HANDED_OVER, UNSAFE_PART, part_said
from tripmargin.drills.told import found_said, repair_said, said, subject_said
from tripmargin.drills.would_it_stop_answers import answer_said
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.stopping.setting.step_words import gap_words

ENDS = {
    "mended": later("mended"),
    "a fault is left": later("a fault is left"),
    "inside": later("every gap is inside the window"),
    "a gap is outside the window": later("a gap is outside the window"),
}
"""What came of declaring it done, by the words that it is kept by."""


@dataclass(frozen=True, slots=True)
class MoveShown:
    """A move, ready for a template."""

    number: int
    did: str
    came: str
    unsafe: bool
    minutes: float
    why: str
    caution: str


def moves_shown(moves: Iterable[d.Move], *, us: bool = False) -> list[MoveShown]:
    """Moves in words, numbered from 1."""
    return [
        MoveShown(
            k,
            did(move, us=us),
            came(move, us=us),
            move.unsafe,
            move.minutes,
            said(move.why),
            said(move.caution),
        )
        for k, move in enumerate(moves, 1)
    ]


@dataclass(frozen=True, slots=True)
class PartShown:
    """A part of a score, ready for a template."""

    called: str
    points: float
    because: str


def parts_shown(result: d.DrillResult, *, us: bool = False) -> list[PartShown]:
    """The parts of a score in words, and what took time without taking points.

    A part of an unsafe move is kept in the words that moves are typed in; here it is told as the
    moves beside it are.
    """
    unsafe = iter([move for move in result.moves if move.unsafe])
    found = []
    for part in result.score.parts:
        move = next(unsafe, None) if part.name == UNSAFE_PART else None
        because = part.because
        if move is not None:
            because = say(
                "{move}. {why} {caution}",
                move=did(move, us=us), why=said(move.why), caution=said(move.caution),
            )  # fmt: skip
        found.append(PartShown(part.called, part.points, because))
    last = result.moves[-1] if result.moves else None
    if last is not None and last.do == d.HAND_OVER:
        spent = say(
            "Handing over takes {minutes:.0f} min. They count in the time spent; they take no"
            " points, for a machine that is handed over begins with {points:.0f} of 100.",
            minutes=last.minutes, points=HANDED_OVER,
        )  # fmt: skip
        found.append(PartShown(part_said("cost"), 0.0, spent))
    return found


def did(move: d.Move, *, us: bool = False) -> str:
    """What was done."""
    what = repair_said(move.what) if move.do == d.MEND else as_written(move.what)
    pawl, _, number = move.what.rpartition(" ")
    pawl = as_written(pawl)
    if move.do == d.TURN:
        return _turned(pawl, number)
    if move.do == d.PLACE:
        return say("Place the {pawl} pawl at {gap}", pawl=pawl, gap=_gap(number, us))
    if move.do == d.GO:
        return say("Bring the machine into: {state}", state=what)
    if move.do == d.LOOK:
        state, _, subject = move.what.partition(": ")
        return say(
            "Look, in “{state}”: {subject}", state=as_written(state), subject=subject_said(subject)
        )
    if move.do == d.MEND:
        return say("Mend: {what}", what=what)
    if move.do == d.MEASURE:
        return say("Measure the {pawl} pawl's gap", pawl=what)
    if move.do == d.ANSWER:
        return say("Answer: {answer}", answer=_answer(move.what))
    return {
        d.SECURE: say("Bring to rest and block the rolls"),
        d.TEST: say("Make the daily test"),
        d.HINT: say("Ask for the next card"),
        d.HAND_OVER: say("Hand the machine over"),
        d.DECLARE: say("Declare it done"),
    }.get(move.do, move.do)


def came(move: d.Move, *, us: bool = False) -> str:
    """What came of it; empty where that says no more than what was done."""
    if move.unsafe:
        return say("Refused: not safe")
    if move.do == d.HINT:
        return said(move.why)
    if move.do == d.MEASURE:
        gap = gap_from(move.came)
        return move.came if gap is None else gap_words(gap, us)
    if move.do == d.LOOK:
        return found_said(move.came, move.what.partition(": ")[2])
    if move.do == d.TEST:
        step = move.came.rpartition(" at step ")[2]
        failed = move.came != PASSED
        return say("failed at step {step}", step=step) if failed else say("passed")
    if move.do == d.DECLARE:
        return say(ENDS.get(move.came, move.came))
    return said(move.came) if move.do == d.ANSWER else ""


def _turned(pawl: str, number: str) -> str:
    turns = _number(number)
    if turns is None:
        return say("Turn the {pawl} pawl's clevis: {turns}", pawl=pawl, turns=number)
    if turns > 0:
        return say("Turn the {pawl} pawl's clevis by {turns:.3g} to open", pawl=pawl, turns=turns)
    return say("Turn the {pawl} pawl's clevis by {turns:.3g} to close", pawl=pawl, turns=-turns)


def _answer(kept: str) -> str:
    """An answer by a word in the reader's words; three chances as they were typed."""
    return answer_said(kept) if kept[:1].isalpha() else kept


def _gap(number: str, us: bool) -> str:
    gap = _number(number)
    return number if gap is None else gap_words(gap, us)


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def gap_from(words: str) -> float | None:
    """The gap, m, that `gap_words` said in millimetres; None where it is none.

    >>> gap_from("3.8 mm")
    0.0038
    """
    number, _, unit = words.replace("\u202f", " ").replace("\xa0", " ").partition(" ")
    value = _number(number.replace(",", "."))
    return None if value is None or unit != "mm" else round(value * 1e-3, 9)
