"""The score of a drill, part by part.

Each part takes a share of what the parts before it have left, so that none can be made up for: an
unsafe move leaves 70 of 100 at most, however well the rest went, and takes something from every
play. The shares are our own choice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tripmargin.drills import moves as m
from tripmargin.drills.moves import Move
from tripmargin.drills.told import Told, look_said, repair_said, said, told
from tripmargin.ground.languages import say, say_as
from tripmargin.stopping.pawl_words import pawl_words

MENDED, HANDED_OVER, NOT_MENDED = 100.0, 10.0, 2.0
"""Points to begin with: mended and proved; given to somebody else; called mended with a fault left.
To know that one is stuck is worth more than to send a machine out unprotected."""
COST_SHARE = 0.5
"""Share of the points that goes with the cost: all of it where the cost is endless."""
WRONG_MODULE_LEAVES, HINT_LEAVES, UNSAFE_LEAVES = 0.9, 0.95, 0.7
"""What each wrong module, each hint and each unsafe move leaves of the points."""
UNSAFE_PART = "unsafe move"
"""Name that the part of an unsafe move is kept by; one for each, in the order of the moves."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a score: what it is about, its points, why.

    Name and reason are kept in English; `called` and `because` say them.
    """

    name: str
    points: float
    why: str

    @property
    def called(self) -> str:
        """The name, said now."""
        return part_said(self.name)

    @property
    def because(self) -> str:
        """Why, said now; of a part read from a file, as it was kept."""
        return said(self.why)


@dataclass(frozen=True, slots=True)
class Score:
    """A score and the parts that add up to it.

    Attributes
    ----------
    points : float
        Up to 100, never 0: a further unsafe move always has something to take.
    parts : tuple of Part
    minutes, best_minutes : float
        What was spent, and what the best route costs; prices counted as minutes.
    """

    points: float
    parts: tuple[Part, ...]
    minutes: float
    best_minutes: float

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: points, minutes."""
        return {
            "points": self.points,
            "parts": [
                {"name": str(p.name), "points": p.points, "why": str(p.why)} for p in self.parts
            ],
            "minutes": self.minutes,
            "best_minutes": self.best_minutes,
        }


def score_of(
    moves: Sequence[Move], *, mended: bool, best_minutes: float, begun: Part | None = None
) -> Score:
    """Score a play.

    Parameters
    ----------
    moves : sequence of Move
        All moves, those that were refused too; the last one ended the drill.
    mended : bool
        Whether nothing of the fault is left.
    best_minutes : float
        What the best route costs, prices counted as minutes.
    begun : Part, optional
        The points to begin with, where it was not a fault that was to be mended.

    Examples
    --------
    >>> best = [Move(m.MEND, "mend F1", "mended", 12.0), Move(m.DECLARE, "", "mended")]
    >>> score_of(best, mended=True, best_minutes=12.0).points
    100.0
    >>> unsafe = Move(m.MEND, "mend F1", m.REFUSED, caution="Engine off.")
    >>> round(score_of([unsafe, *best], mended=True, best_minutes=12.0).points, 6)
    70.0
    """
    minutes = sum(move.minutes for move in moves)
    parts = [begun or _begun(moves, mended)]
    left = parts[0].points

    def take(name: str, leaves: float, why: str) -> None:
        nonlocal left
        parts.append(Part(name, left * leaves - left, why))
        left *= leaves

    if mended and minutes > best_minutes:
        take(
            "cost", 1 - COST_SHARE * (1 - best_minutes / minutes),
            told(lambda: _cost(minutes, best_minutes)),
        )  # fmt: skip
    for move in moves:
        if move.wrong_module:
            take("wrong module", WRONG_MODULE_LEAVES, _in_vain(move))
        elif move.do == m.HINT:
            take("hint", HINT_LEAVES, move.why)
        elif move.unsafe:
            take(UNSAFE_PART, UNSAFE_LEAVES, _refused(move))
    return Score(left, tuple(parts), minutes, best_minutes)


def part_said(name: str) -> str:
    """The name of a part of a score, by the words that it is kept by."""
    names = {
        "cost": say_as("part of a score", "cost"),
        "wrong module": say_as("part of a score", "wrong module"),
        "hint": say_as("part of a score", "hint"),
        "unsafe move": say_as("part of a score", "unsafe move"),
        "handed over": say_as("part of a score", "handed over"),
        "mended": say_as("part of a score", "mended"),
        "not mended": say_as("part of a score", "not mended"),
        "set": say_as("part of a score", "set"),
        "not set": say_as("part of a score", "not set"),
    }
    return names[name] if name in names else said(name)


def _cost(minutes: float, best: float) -> str:
    return say(
        "{minutes:.1f} min were spent, parts counted as time; the best route takes {best:.1f} min.",
        minutes=minutes, best=best,
    )  # fmt: skip


def _in_vain(move: Move) -> Told:
    return told(lambda: say("{module} held nothing of the fault.", module=repair_said(move.what)))


def _refused(move: Move) -> Told:
    return told(
        lambda: say(
            "{move}. {why} {caution}",
            move=_said(move), why=said(move.why), caution=said(move.caution),
        )
    )  # fmt: skip


def _said(move: Move) -> str:
    """A move in two words, without its numbers."""
    if move.do == m.LOOK:
        return say("look {look}", look=look_said(move.what))
    if move.do == m.MEND:
        return say("mend {part}", part=repair_said(move.what))
    if move.do == m.MEASURE:
        return say("measure {pawl}", pawl=pawl_words(move.what))
    pawl = pawl_words(move.what.rpartition(" ")[0])
    if move.do == m.TURN:
        return say("turn {pawl}", pawl=pawl)
    if move.do == m.PLACE:
        return say("place {pawl}", pawl=pawl)
    return say_as("a move", "done")


def _begun(moves: Sequence[Move], mended: bool) -> Part:
    if moves and moves[-1].do == m.HAND_OVER:
        why = told(lambda: say("Somebody else goes on, and nobody was misled."))
        return Part("handed over", HANDED_OVER, why)
    if mended:
        why = told(lambda: say("The fault is mended, and the daily test passed."))
        return Part("mended", MENDED, why)
    why = told(lambda: say("It was declared mended, and a fault is left."))
    return Part("not mended", NOT_MENDED, why)
