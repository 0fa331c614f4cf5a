"""A move in words: what was done, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tripmargin import drills as d
from tripmargin.drills.move_words import did
from tripmargin.drills.moves import PASSED
from tripmargin.drills.told import found_said, said
from tripmargin.ground.languages import later, say
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


def moves_shown(
    moves: Iterable[d.Move], *, us: bool = False, setting: bool = False
) -> list[MoveShown]:
    """Moves in words, numbered from 1; `setting`: of a drill that sets pawls."""
    return [
        MoveShown(
            k,
            did(move, us=us, setting=setting),
            came(move, us=us),
            move.unsafe,
            move.minutes,
            said(move.why),
            said(move.caution),
        )
        for k, move in enumerate(moves, 1)
    ]


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


def gap_from(words: str) -> float | None:
    """The gap, m, that `gap_words` said in millimetres; None where it is none.

    >>> gap_from("3.8 mm")
    0.0038
    """
    number, _, unit = words.replace("\u202f", " ").replace("\xa0", " ").partition(" ")
    try:
        value = float(number.replace(",", "."))
    except ValueError:
        return None
    return round(value * 1e-3, 9) if unit == "mm" else None
