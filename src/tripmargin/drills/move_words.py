"""A move in words, as people read it: what was done, and what it took from the score."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tripmargin.drills import moves as m
from tripmargin.drills.moves import Move
from tripmargin.drills.scoring import HANDED_OVER, UNSAFE_PART, Score, part_said
from tripmargin.drills.told import repair_said, said, subject_said
from tripmargin.drills.would_it_stop_answers import answer_said
from tripmargin.ground.languages import numeral, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.stopping.pawl_words import pawl_words
from tripmargin.stopping.setting.step_words import gap_words, turns_words

_WHOLE = 1.0  # turn; as a step it needs no words of its own


@dataclass(frozen=True, slots=True)
class PartShown:
    """A part of a score as it is read: its name, its points, why."""

    called: str
    points: float
    because: str


def parts_shown(score: Score, moves: Sequence[Move], *, us: bool = False) -> list[PartShown]:
    """The parts of a score in words, and what took time without taking points.

    A part of an unsafe move is kept in the words that moves are typed in; here it is told as the
    moves beside it are.

    Parameters
    ----------
    score : Score
    moves : sequence of Move
        Those that the score is of.
    us : bool
        Gaps in inches.
    """
    unsafe = iter([move for move in moves if move.unsafe])
    found = []
    for part in score.parts:
        move = next(unsafe, None) if part.name == UNSAFE_PART else None
        because = part.because
        if move is not None:
            because = say(
                "{move}. {why} {caution}",
                move=did(move, us=us), why=said(move.why), caution=said(move.caution),
            )  # fmt: skip
        found.append(PartShown(part.called, part.points, because))
    last = moves[-1] if moves else None
    if last is not None and last.do == m.HAND_OVER:
        spent = say(
            "Handing over takes {minutes:.0f} min. They count in the time spent; they take no"
            " points, for a machine that is handed over begins with {points:.0f} of 100.",
            minutes=last.minutes, points=HANDED_OVER,
        )  # fmt: skip
        found.append(PartShown(part_said("cost"), 0.0, spent))
    return found


def did(move: Move, *, us: bool = False, setting: bool = False) -> str:
    """What was done, beginning as a sentence does; `setting`: in a drill that sets pawls.

    >>> did(Move(m.TURN, "lower -1.5", "")), did(Move(m.MEND, "mend D", ""))
    ("Turn the lower pawl's clevis by 1.5 turns to close", 'Mend: D')
    """
    what = repair_said(move.what) if move.do == m.MEND else as_written(move.what)
    pawl, _, number = move.what.rpartition(" ")
    if move.do == m.TURN:
        return _turned(pawl_words(pawl), number)
    if move.do == m.PLACE:
        gap = _gap(number, us)
        return say("Place the {pawl} pawl at {gap}", pawl=pawl_words(pawl), gap=gap)
    if move.do == m.GO:
        return say("Bring the machine into: {state}", state=what)
    if move.do == m.LOOK:
        state, _, subject = move.what.partition(": ")
        return say(
            "Look, in “{state}”: {subject}", state=as_written(state), subject=subject_said(subject)
        )
    if move.do == m.MEND:
        return say("Mend: {what}", what=what)
    if move.do == m.MEASURE:
        return say("Measure the {pawl} pawl's gap", pawl=pawl_words(move.what))
    if move.do == m.ANSWER:
        return say("Answer: {answer}", answer=_answer(move.what))
    if move.do == m.HINT and setting:
        return say("Ask for the next step")
    return {
        m.SECURE: say("Bring to rest, block the rolls and each pawl"),
        m.TEST: say("Make the daily test"),
        m.HINT: say("Ask for the next card"),
        m.HAND_OVER: say("Hand the machine over"),
        m.DECLARE: say("Declare it done"),
    }.get(move.do, move.do)


def _turned(pawl: str, number: str) -> str:
    turns = _number(number)
    if turns is None:
        return say("Turn the {pawl} pawl's clevis: {turns}", pawl=pawl, turns=number)
    by = turns_words(turns, _WHOLE)
    if turns > 0:
        return say("Turn the {pawl} pawl's clevis by {turns} to open", pawl=pawl, turns=by)
    return say("Turn the {pawl} pawl's clevis by {turns} to close", pawl=pawl, turns=by)


def _answer(kept: str) -> str:
    """An answer by a word in the reader's words; three chances as they were typed."""
    if kept[:1].isalpha():
        return answer_said(kept)
    chances = [_number(each) for each in kept.split()]
    return " ".join(numeral(each, "g") for each in chances if each is not None)


def _gap(number: str, us: bool) -> str:
    gap = _number(number)
    return number if gap is None else gap_words(gap, us)


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
