"""A kept drill played again from its moves, and one move more.

What is kept is in English whatever is spoken (`drills.told`): the moves, what came of them, and the
result. So a drill that was begun in one language goes on in another, and is checked against what
was kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils import timezone

from tripmargin.drills import Drill, Move, SettingDrill, WouldItStop, drill, setting_drill
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.machine import digest_of
from tripmargin.records.keeping.practices import Turn, on_of, turn_at
from tripmargin.records.store.models import Practice, PracticeMove
from tripmargin.web.drills.kinds import FAULT, SETTING, STOP
from tripmargin.web.drills.questions import afresh, questions_on
from tripmargin.web.whats_wrong.keeper import Reading, problem_on

AnyDrill = Drill | SettingDrill | WouldItStop
Step = tuple[str, str]
"""What a move does, and with what."""


class ChangedError(TripmarginError):
    """A drill whose machine, or whose answers, are others than when it was played."""

    def __init__(self) -> None:
        super().__init__(
            say(
                "This drill cannot be gone on with: the machine's file or the program has changed"
                " since it was begun. What was done is kept. Begin another drill."
            )
        )


@dataclass(frozen=True, slots=True)
class Made:
    """What became of the moves that were sent.

    Attributes
    ----------
    drill : AnyDrill
        With all moves made.
    stale : bool
        Whether another page made a move since this one was shown; nothing was made then.
    """

    drill: AnyDrill
    stale: bool = False


def reading_of(practice: Practice) -> Reading | None:
    """What the drill is made of, there or on its way; None for a drill that waits for nothing."""
    if practice.kind == FAULT:
        return problem_on(on_of(practice).loaded())
    if practice.kind == STOP:
        return questions_on(on_of(practice).loaded(), practice.seed, practice.about)
    return None


def moves_made(drill: AnyDrill) -> Sequence[Move]:
    """The moves of a drill so far."""
    return drill.moves if isinstance(drill, WouldItStop) else drill.play.moves


def played(practice: Practice, moves: Sequence[PracticeMove], problem: Any) -> AnyDrill:
    """The drill with its moves made, in the language spoken; `problem` as `reading_of` gives it.

    Raises
    ------
    ChangedError
        If the machine's file is another one, or a move cannot be made any more.
    """
    again = _begun(practice, problem)
    try:
        for move in moves:
            again.move(move.do, move.what)
    except TripmarginError as error:
        raise ChangedError from error
    return again


def make(
    practice: Practice,
    problem: Any,
    steps: Sequence[Step],
    *,
    uid: UUID,
    seen: int,
) -> Made:
    """Make moves one after the other, and keep them; at the end, the result.

    Parameters
    ----------
    practice : Practice
    problem : MachineProblem, WouldItStop or None
        As `reading_of` gives it.
    steps : sequence of (str, str)
    uid : UUID
        Made with the page: a second sending of the same first move counts as one.
    seen : int
        How many moves there were when the page was shown.

    Raises
    ------
    DrillError
        If a move cannot be made. Nothing of `steps` is kept then.
    ChangedError, PracticeError
        If the drill cannot be gone on with.
    """
    with turn_at(practice, uid) as turn:
        again = _as_kept(practice, turn.moves, problem)
        if turn.came is not None and (turn.came.do, turn.came.what) == tuple(steps[0]):
            return Made(again)
        if seen != len(turn.moves) or turn.ended:
            return Made(again, stale=True)
        for do, what in steps:
            made = again.move(do, what)
            turn.add(made.do, made.what, made.came)
            if made.unsafe:
                break
        if again.ended:
            _end(turn, again)
        return Made(again)


def _begun(practice: Practice, problem: Any) -> AnyDrill:
    machine = on_of(practice).loaded()
    if digest_of(machine) != practice.machine_mark:
        raise ChangedError
    if practice.kind == SETTING:
        return setting_drill(machine, seed=practice.seed)
    if problem is None:
        raise ChangedError
    if practice.kind == STOP:
        return afresh(problem)
    return drill(problem, seed=practice.seed)


def _as_kept(practice: Practice, moves: Sequence[PracticeMove], problem: Any) -> AnyDrill:
    """The drill with its moves made; what comes of each must be what came of it."""
    again = played(practice, moves, problem)
    came = [move.came[:300] for move in moves_made(again)]
    if came != [move.came for move in moves]:
        raise ChangedError
    return again


def _end(turn: Turn, again: AnyDrill) -> None:
    when = timezone.now().replace(microsecond=0)
    result = again.result(when=when, name=turn.practice.who_name)
    kept: dict[str, Any] = result.to_dict()
    turn.end(kept, points=result.score.points, unsafe=unsafe_among(moves_made(again)))


def unsafe_among(moves: Sequence[Move]) -> int:
    """How many moves were refused because they are not safe."""
    return sum(move.unsafe for move in moves)
