"""What a case proposes next: the planner's choice, held back where it would be rash or idle.

The planner takes the daily test as perfect and a wrong module as no worse than its price. So two of
its choices are held back: the daily test where it could only pass, and a module below a chance at
which nobody would defend it, as long as a look can still tell something.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.cases.proof_steps import proof_steps, worth
from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.deciding.index import Crowd, Scales
from tripmargin.faultfinding.deciding.lookahead import Effort, look_ahead
from tripmargin.faultfinding.deciding.planning import BEAM, Method, Plan, narrowed, planner
from tripmargin.faultfinding.deciding.policy import Policy
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.deciding.ranking import NextAction, ranked
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.faultfinding.suspects.repairs import PROVE_AGAIN

SURE = 0.9
"""Chance from which a whole module is proposed although a look could still tell something.
Engineering judgement, no source."""
SLIGHT = 0.02
"""Nat. Below this the daily test is no news to one who still looks for the fault."""
WIDE = 24
"""Actions ranked when the first few are all held back."""


class Adviser:
    """Proposes the next actions on one machine.

    The one index chooses: on whole machines, where nearly every fault stays possible because looks
    slip, looking ahead came out no cheaper (docs/decisions/0004) and takes 30 times as long.
    """

    def __init__(self, of: MachineProblem, method: Method = "index") -> None:
        self.of, self.policy = of, Policy(of.problem, method)
        self._scales = Scales(of.problem)

    def actions(self, situation: Situation, n: int, *, proving: bool) -> list[NextAction]:
        """The best n actions, the first of them worth doing now.

        Parameters
        ----------
        situation : Situation
        n : int
        proving : bool
            The last daily test passed, and the machine is more likely sound than not.
        """
        if proving:
            return proof_steps(self.of, situation, n)
        plan = self._held_back(situation)
        if not len(plan.actions):
            return proof_steps(self.of, situation, n, again=False)
        found = list(ranked(self.of.problem, situation, plan, n))
        return found if len(found) == n else [*found, *self._others(situation, found, n)]

    def _others(
        self, situation: Situation, found: Sequence[NextAction], n: int
    ) -> list[NextAction]:
        """Further actions for one who asks for more: what the index would choose without the first.

        So the second stays the second however many are asked for. A repair cannot be left out in
        this way; what comes behind one is found by looking ahead.
        """
        problem, more, used = self.of.problem, list(found), situation.used.copy()
        while len(more) < n and problem.numbers[more[-1].action] < len(problem.checks):
            used[problem.numbers[more[-1].action]] = True
            plan = self._held_back(replace(situation, used=used.copy()))
            if not len(plan.actions):
                break
            more += ranked(problem, situation, plan, 1)
        if len(more) < n:
            plan = planner(problem, "look-ahead", beam=max(n, BEAM))(situation)
            keep = self._kept(situation, plan, plan)
            plan = replace(plan, actions=plan.actions[keep], minutes=plan.minutes[keep])
            named = {each.action for each in more}
            more += [e for e in ranked(problem, situation, plan, n) if e.action not in named]
        return more[len(found) : n]

    def best(self, situation: Situation, *, proving: bool) -> int:
        """The number of the first action."""
        plan = None if proving else self._held_back(situation)
        if plan is None or not len(plan.actions):
            action = proof_steps(self.of, situation, 1, again=proving)[0].action
            return self.of.problem.numbers[action]
        return int(plan.actions[0])

    def _held_back(self, situation: Situation) -> Plan:
        """The plan without what is rash or idle; empty where nothing else is left."""
        plan, count = self.policy.plan(situation), len(self.of.problem.checks)
        if plan.actions[0] < count:
            return plan
        wide = self._wide(situation)
        keep = self._kept(situation, plan, wide)
        if not keep.any():
            plan, keep = wide, self._kept(situation, wide, wide)
        return replace(plan, actions=plan.actions[keep], minutes=plan.minutes[keep])

    def _wide(self, situation: Situation) -> Plan:
        """The first actions by the index, more than the one that it chooses."""
        scales, _ = narrowed(self._scales, situation)
        belief = situation.belief[scales.problem.kept]
        root = Crowd(
            (belief / belief.sum())[None],
            situation.used[None],
            np.array([situation.state]),
            np.ones(1),
        )
        found = look_ahead(scales, root, Effort(depth=1, beam=WIDE, least_reach=2.0))
        assert found is not None  # there is no limit to the work
        needed = float(situation.belief @ self.of.problem.known_minutes[:, situation.state])
        return Plan(found[0], found[1] + needed, needed, "index")

    def _kept(self, situation: Situation, plan: Plan, wide: Plan) -> NDArray[np.bool_]:
        """Which actions of a plan are not held back; a look that tells is seen in the wide one."""
        telling = bool((wide.actions < len(self.of.problem.checks)).any())
        return np.array(list(self._each_kept(situation, plan, telling)), bool)

    def _each_kept(self, situation: Situation, plan: Plan, telling: bool) -> Iterator[bool]:
        problem = self.of.problem
        count = len(problem.checks)
        for action in plan.actions.tolist():
            if action < count:
                yield True
                continue
            work = self.of.repairs[action - count]
            if work.id == PROVE_AGAIN:
                yield worth(self.of, situation, action) > SLIGHT
            elif work.module and telling:
                cured = problem.left[action - count] == CURED
                yield float(situation.belief[cured].sum()) >= SURE
            else:
                yield True
