"""Drills played by lists of moves, or at random."""

from __future__ import annotations

import random

from tripmargin import drills
from tripmargin.drills import Drill, DrillError
from tripmargin.faultfinding import MachineProblem


def made(of: MachineProblem, seed: int, moves: list[tuple[str, str]]) -> Drill:
    """A drill with these moves made."""
    drill = drills.drill(of, seed=seed)
    for do, what in moves:
        drill.move(do, what)
    return drill


def best_moves(drill: Drill) -> list[tuple[str, str]]:
    """The moves of the best route."""
    return [(move.do, move.what) for move in drill.best.moves]


def random_play(drill: Drill, rng: random.Random) -> None:
    """Anything that can be done, until it ends."""
    of = drill.of
    for _ in range(rng.randrange(2, 25)):
        way = rng.choice([drills.GO, drills.LOOK, drills.LOOK, drills.MEND, drills.TEST])
        what = {
            drills.GO: list(of.problem.states),
            drills.LOOK: list(drills.looks_of(of)),
            drills.MEND: list(drills.repairs_of(of)),
            drills.TEST: [""],
        }[way]
        try:
            drill.move(way, rng.choice(what))
        except DrillError:
            continue
    if rng.random() < 0.5:  # what mends it, so that good ends are among them
        good = next(move.what for move in drill.best.moves if move.do == drills.MEND)
        drill.move(drills.GO, of.problem.states[of.problem.start_state])
        drill.move(drills.MEND, good)
        drill.move(drills.TEST)
    if not drill.move(drills.DECLARE).unsafe:
        return
    drill.move(drills.HAND_OVER)
