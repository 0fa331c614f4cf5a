"""What was done so far, as the form carries it: one line a round, checked again when it is back."""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite

from tripmargin.ground.errors import TripmarginError, shortened
from tripmargin.ground.languages import say
from tripmargin.pictures.trade_words import pawl_place
from tripmargin.stopping.setting import Adjusters
from tripmargin.stopping.setting.rounds import Round

MOST_ROUNDS = 40
MOST_TURNS = 100.0
LEAST_GAP, MOST_GAP = 10e-6, 0.03
"""m. The thinnest blade; and what the log takes for a gap."""
_DOES = {"turn": "clevis", "place": "clamp"}


class RoundError(TripmarginError):
    """A round that came back otherwise than it was sent; the text says which."""


def as_sent(one: Round) -> str:
    """A round as one line.

    >>> as_sent(Round("lower", 0.0037, turns=-2.0)), as_sent(Round("upper", 0.0036))
    ('lower;turn;-2;0.0037', 'upper;measure;0;0.0036')
    """
    did = "turn" if one.turns is not None else "place" if one.placed else "measure"
    return f"{one.pawl};{did};{one.turns or 0:.6g};{one.gap:.9g}"


def rounds_of(lines: Iterable[str], adjusters: Adjusters) -> tuple[Round, ...]:
    """The rounds of a form's lines.

    Raises
    ------
    RoundError
        If one cannot be.
    """
    made = tuple(_round(line, adjusters) for line in lines)
    if len(made) > MOST_ROUNDS:
        raise RoundError(
            say("{count} steps, and at most {most} are taken", count=len(made), most=MOST_ROUNDS)
        )
    return made


def did_of(line: str, adjusters: Adjusters) -> tuple[str, str, float]:
    """Pawl, what is done to it, and turns, of the line that says what a reading is of.

    Raises
    ------
    RoundError
        If it cannot be.
    """
    parts = line.rsplit(";", 2)
    kinds = {each.pawl: each.kind for each in adjusters.pawls}
    if len(parts) != 3 or parts[0] not in kinds:
        raise RoundError(
            say("“{seen}” is no step of this machine's pawls", seen=shortened(line, 40))
        )
    pawl, did, turns_said = parts
    try:
        turns = float(turns_said)
    except ValueError:
        turns = float("nan")
    if did not in ("measure", *_DOES) or _DOES.get(did, kinds[pawl]) != kinds[pawl]:
        raise RoundError(
            say(
                "“{seen}”: that is not done to the {pawl} pawl",
                seen=shortened(line, 40),
                pawl=pawl_place(pawl),
            )
        )
    if not isfinite(turns) or abs(turns) > MOST_TURNS or (did != "turn" and turns):
        raise RoundError(say("“{seen}”: so many turns cannot be", seen=shortened(line, 40)))
    return pawl, did, turns


def round_of(pawl: str, did: str, turns: float, gap: float) -> Round:
    """The round; a clevis that was turned by nothing was only measured."""
    if did == "turn" and turns:
        return Round(pawl, gap, turns=turns)
    return Round(pawl, gap, placed=did == "place")


def _round(line: str, adjusters: Adjusters) -> Round:
    first, _, last = line.rpartition(";")
    pawl, did, turns = did_of(first, adjusters)
    try:
        gap = float(last)
    except ValueError:
        gap = float("nan")
    if not LEAST_GAP <= gap <= MOST_GAP:
        raise RoundError(say("“{seen}”: that is no gap", seen=shortened(line, 40)))
    return round_of(pawl, did, turns, gap)
