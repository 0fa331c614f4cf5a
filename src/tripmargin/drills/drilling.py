"""A drill: a machine with one hidden fault, what the operator says, and how well it was found."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from tripmargin.drills import moves as m
from tripmargin.drills.believing import Believer
from tripmargin.drills.best_route import play_best
from tripmargin.drills.broken_machine import BrokenMachine, toss
from tripmargin.drills.moves import Move
from tripmargin.drills.playing import Play
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.results import DrillResult, mark_of
from tripmargin.drills.scoring import Score, score_of
from tripmargin.drills.told import told
from tripmargin.faultfinding import COMPLAINTS, Hypothesis, MachineProblem, machine_problem
from tripmargin.faultfinding.cases.advising import Adviser
from tripmargin.faultfinding.suspects.complaints import TOLD_WRONG
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.machine import Machine

MOST_DRAWS = 60
"""Faults drawn before a machine is given up: on the demo machines one or two will do."""


@dataclass(slots=True)
class Drill:
    """One drill, from the complaint to the score.

    Attributes
    ----------
    seed : int
    complaint : str
        One of `tripmargin.faultfinding.COMPLAINTS`.
    play : Play
        The learner's.
    best : Play
        The cards' own, at its end.
    fault : Hypothesis
        What is hidden. Not to be shown before the end.
    """

    seed: int
    complaint: str
    play: Play
    best: Play
    fault: Hypothesis

    @property
    def of(self) -> MachineProblem:
        """The machine's problem."""
        return self.play.of

    @property
    def ended(self) -> bool:
        """Whether it was declared mended, or handed over."""
        return self.play.ended

    def move(self, do: str, what: str = "") -> Move:
        """Make a move; see `tripmargin.drills.MOVES`.

        A move that is not safe is refused, and counts: `.unsafe`, `.why`, `.caution`.

        Raises
        ------
        DrillError
            If there is no such thing or the machine is in another state; nothing is counted then.
        """
        return self.play.make(do, what)

    def score(self) -> Score:
        """The score, once the drill has ended.

        Raises
        ------
        DrillError
            If it has not: half a drill has no score.
        """
        return _scored(self.play, self.best)

    def best_score(self) -> Score:
        """What the best route itself scores, counted in the same way."""
        return _scored(self.best, self.best)

    def result(self, *, when: datetime, name: str = "") -> DrillResult:
        """What is kept of a drill that has ended; `name` of whoever practised.

        Raises
        ------
        DrillError
            If it has not ended.
        """
        score = self.score()
        return DrillResult(
            machine=self.of.machine.name,
            machine_mark=mark_of(self.of.machine),
            seed=self.seed,
            complaint=self.complaint,
            fault=self.fault.id,
            said=told(lambda: self.fault.text),
            kind=kind_of(self.fault),
            moves=tuple(self.play.moves),
            best=tuple(self.best.moves),
            score=score,
            when=when.isoformat(timespec="seconds"),
            name=name,
        )


def drill(machine: Machine | MachineProblem, *, seed: int) -> Drill:
    """Hide a fault in a machine, and let the operator complain.

    Parameters
    ----------
    machine : Machine or MachineProblem
        A MachineProblem saves working the machine's faults out again.
    seed : int
        From 0. The same seed gives the same fault and the same answers.

    Raises
    ------
    NotKnownError
        If the machine file has no `[circuit]` or no `[checks]`.
    DrillError
        If the seed is below 0.

    Notes
    -----
    One fault is drawn by the rates of the machine's faults, at one of its strengths. A fault is
    drawn anew where the cards themselves would not mend it, or would mend something else first: a
    route in which something is mended in vain is none to learn from. The operator says one of the
    things that the fault gives cause for; in a drill nobody is misheard.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> practice = drill(load_machine("dunlin"), seed=7)
    >>> practice.best_score().points
    100.0
    """
    if seed < 0:
        raise DrillError(say("seed"), str(seed), say("below 0"), say("a whole number from 0"))
    of = machine if isinstance(machine, MachineProblem) else machine_problem(machine)
    adviser = Adviser(of)
    weights = np.array([each.weight * (len(each.causes) == 1) for each in of.hypotheses])
    upto = np.cumsum(weights / weights.sum())
    for draw in range(MOST_DRAWS):
        row = int(np.searchsorted(upto, toss(seed, "fault", draw), side="right"))
        row = min(row, int(np.flatnonzero(weights)[-1]))
        complaint = _said(of, row, toss(seed, "said", draw))

        def begun(row: int = row, complaint: str = complaint) -> Play:
            return Play(BrokenMachine(of, seed, row), Believer.told(adviser, complaint))

        best = play_best(begun())
        if _teaches(best):
            return Drill(seed, complaint, begun(), best, of.hypotheses[row])
    raise TripmarginError(
        say(
            "{machine}: no drill can be set: none of {count} faults that were drawn is found by its"
            " cards.\n  `tripmargin chart` says which faults the machine's looks tell apart; more"
            " looks in [checks.looks] help.",
            machine=of.machine.name, count=MOST_DRAWS,
        )
    )  # fmt: skip


def kind_of(fault: Hypothesis) -> str:
    """What a fault is about: the part that it sits in, whatever its strength.

    Drills come again by it.
    """
    return fault.causes[0].strength_of or fault.causes[0].id


def _said(of: MachineProblem, row: int, tossed: float) -> str:
    """One of the complaints that a fault gives cause for, all alike.

    The problem's table holds them, with a floor under all for those that are told wrong.
    """
    chances = of.problem.likelihood[row, : len(COMPLAINTS)]
    causes = np.flatnonzero(chances > 1.5 * TOLD_WRONG / len(COMPLAINTS))
    return str(list(COMPLAINTS)[causes[int(tossed * len(causes))]])


def _teaches(best: Play) -> bool:
    """Whether a route is one to learn from: it mends the fault, and nothing else before it."""
    mends = [move for move in best.moves if move.do == m.MEND]
    return best.mended and best.moves[-1].do == m.DECLARE and len(mends) == 1


def _scored(play: Play, best: Play) -> Score:
    if not play.ended:
        raise DrillError(
            say("drill"), say("not ended"), say("half a drill has no score"),
            say("a drill that was declared mended or handed over"),
        )  # fmt: skip
    return score_of(play.moves, mended=play.mended, best_minutes=best.minutes)
