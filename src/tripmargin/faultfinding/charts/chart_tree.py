"""A complaint's decision tree, by the policy: what to do, what may come of it, where to go on.

Each branch carries the joint chance of every hypothesis and of coming there, so that chances add up
from the complaint to the last repair. What hardly ever comes is left to the tool.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.cases.proof_steps import proof_steps
from tripmargin.faultfinding.cases.proving import LEFT_OPEN, doubt, pass_chances, passed
from tripmargin.faultfinding.deciding.beliefs import FAILED, Situation, observed, unhelped
from tripmargin.faultfinding.deciding.policy import Policy
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.deciding.ranking import PASSED
from tripmargin.faultfinding.suspects.machine_problem import (
    ASK,
    CANNOT_TELL,
    SAW_ELSE,
    MachineProblem,
)
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN

Floats = NDArray[np.float64]

PROVED, TOOL = "protected and proved", "use the tool, or hand over"
"""How a branch may end."""
FOLLOWED = 4
"""Looks that a step may ask for after a daily test that passed."""
COMPARED = 20
"""Of these the first that the daily test does not make anyway."""
OFF_PAPER = (CANNOT_TELL, SAW_ELSE)
"""Answers that a paper chart has no branches for."""
ANYTHING_ELSE = "anything else, or can't tell"
"""The branch that they go to."""


@dataclass(eq=False)
class Draft:
    """A step before it has a number; `ways` holds a word's step, or how it ends.

    `weight` is (2, H), the joint chance of each hypothesis and of coming here: with slips as the
    machine file has them, and with every look made and read rightly.
    """

    action: int
    weight: Floats
    moving: float
    ways: list[tuple[str, float, Draft | str]] = field(default_factory=list)
    also: tuple[str, ...] = ()

    @property
    def chance(self) -> float:
        """Of coming here, of all cases."""
        return float(self.weight[0].sum())


class Grower:
    """Grows the trees of one machine.

    Parameters
    ----------
    of : MachineProblem
    policy : Policy
    least : float
        A branch less likely than this, of all cases, is left to the tool.
    """

    def __init__(self, of: MachineProblem, policy: Policy, least: float) -> None:
        self.of, self.policy, self.least = of, policy, least
        self._passes = pass_chances(of)
        self._daily = _daily_looks(of)
        self._shows = np.array([each.shows for each in of.hypotheses])

    def grow(self, complaint: str) -> Draft | str:
        """The tree of a complaint, equal subtrees drawn once; chances are of all cases."""
        problem = self.of.problem
        ask = problem.numbers[f"check:{ASK}"]
        outcome = problem.checks[ask].outcomes.index(complaint)
        told = problem.prior * problem.likelihood[:, problem.columns[ask] + outcome]
        start = Situation(
            problem.prior, np.zeros(len(problem.checks), dtype=bool), problem.start_state
        )
        situation = observed(problem, start, ask, outcome)
        return _shared(self._step(situation, np.stack([told, told])), {})

    def _step(self, situation: Situation, weight: Floats) -> Draft | str:
        if weight[0].sum() < self.least:
            return TOOL
        problem = self.of.problem
        action = int(self.policy.plan(situation).actions[0])
        if problem.actions[action] == f"repair:{HAND_OVER}":
            return TOOL
        if action < len(problem.checks):
            return self._look(situation, weight, action)
        return self._repair(situation, weight, action)

    def _look(self, situation: Situation, weight: Floats, action: int) -> Draft | str:
        """A look with its answers; one that only leads to the tool is not worth its paper."""
        problem = self.of.problem
        check, first = problem.checks[action], problem.columns[action]
        draft = Draft(action, weight, float(problem.move[situation.state, check.state]))
        off = 0.0
        for k, word in enumerate(check.outcomes):
            slips = weight[0] * problem.likelihood[:, first + k]
            if word in OFF_PAPER:
                off += float(slips.sum())
                continue
            joint = np.stack([slips, weight[1] * self._read_rightly(action, k)])
            way = self._step(observed(problem, situation, action, k), joint)
            draft.ways.append((word, float(slips.sum()), way))
        draft.ways.append((ANYTHING_ELSE, off, TOOL))
        return TOOL if all(way == TOOL for _, _, way in draft.ways) else draft

    def _read_rightly(self, action: int, outcome: int) -> Floats:
        """Chance of a look's word under each hypothesis when nobody slips; (H,)."""
        problem, first = self.of.problem, self.of.problem.columns[action]
        answers = self.of.looks[action - 1].answers
        chance: Floats = self._shows * (answers == outcome) + (1 - self._shows) * (outcome == 0)
        words = len(problem.checks[action].outcomes) - len(OFF_PAPER)
        unlisted = problem.likelihood[-1, first : first + words]
        chance[-1] = unlisted[outcome] / unlisted.sum()
        return chance

    def _repair(self, situation: Situation, weight: Floats, action: int) -> Draft:
        problem, number = self.of.problem, action - len(self.of.problem.checks)
        repair, left = problem.repairs[number], problem.left[number]
        draft = Draft(action, weight, float(problem.move[situation.state, repair.state]))
        cured = left == CURED
        stays = np.zeros_like(weight)
        for kept, came in zip(stays, weight, strict=True):
            np.add.at(kept, left[~cured], came[~cured])
        through = float(weight[0, cured].sum() + stays[0] @ self._passes)
        still = stays * (1 - self._passes)
        draft.ways.append((PASSED, through, PROVED))
        way = self._step(self._after_failure(situation, number), still)
        draft.ways.append((FAILED, float(still[0].sum()), way))
        draft.also = self._also(passed(self.of, situation, number))
        return draft

    def _after_failure(self, situation: Situation, repair: int) -> Situation:
        """Where a repair that did not help leads: to rest; the operator stays asked."""
        later = unhelped(self.of.problem, situation, repair)
        used = later.used.copy()
        used[self.of.problem.numbers[f"check:{ASK}"]] = True
        return replace(later, used=used, state=self.of.problem.start_state)

    def _also(self, situation: Situation) -> tuple[str, ...]:
        """Looks that a passed daily test leaves to be made, while they show what is sound."""
        problem, found = self.of.problem, list[str]()
        while doubt(self.of, situation) > LEFT_OPEN and len(found) < FOLLOWED:
            steps = (each.action for each in proof_steps(self.of, situation, COMPARED))
            name = next((each for each in steps if each not in self._daily), None)
            if name is None or name == f"repair:{HAND_OVER}":
                break
            found.append(name.partition(":")[2])
            number = problem.numbers[name]
            if name == f"repair:{PROVE_AGAIN}":
                situation = passed(self.of, situation, number - len(problem.checks), again=True)
            else:
                situation = observed(problem, situation, number, 0)
        return tuple(found)


def _daily_looks(of: MachineProblem) -> frozenset[str]:
    """Looks that the daily test makes anyway."""
    path = next(each for each in of.checks.paths if each.name == of.checks.daily)
    watched = path.watch or (*(name for name, _, _ in of.shown.signs), "rolls")
    return frozenset(
        f"check:{each.id}"
        for each in of.questions.values()
        if (each.state in path.states and each.subject in watched) or each.subject in path.looks
    )


def _shared(way: Draft | str, known: dict[tuple[object, ...], Draft]) -> Draft | str:
    """The same tree with equal subtrees drawn once; their chances are added up."""
    if isinstance(way, str):
        return way
    ways = [(word, chance, _shared(child, known)) for word, chance, child in way.ways]
    ends = tuple((word, child if isinstance(child, str) else id(child)) for word, _, child in ways)
    key = (way.action, way.also, *ends)
    first = known.get(key)
    if first is None:
        known[key] = replace(way, ways=ways)
        return known[key]
    share = first.chance / (first.chance + way.chance)
    first.moving = share * first.moving + (1 - share) * way.moving
    first.weight = first.weight + way.weight
    first.ways = [
        (word, one + other, child)
        for (word, one, child), (_, other, _) in zip(first.ways, ways, strict=True)
    ]
    return first
