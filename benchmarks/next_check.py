"""The next check: how long the choice takes, and what it saves against information per minute.

One made-up problem of sixty faults and all their pairs, fifty checks and six states of the machine,
with slips. The peer is the usual greedy rule, information gained per minute spent, over the same
checks and repairs and the same beliefs, on the same broken machines with the same answers. Cost is
counted beyond what somebody who knew the fault would spend.
"""

from __future__ import annotations

import resource
from collections.abc import Callable

import numpy as np
from common.turns import median, say, seconds, spoken, where

from tripmargin.faultfinding import Policy, Problem, Situation, policy, situation_after
from tripmargin.faultfinding.deciding.beliefs import observed, unhelped
from tripmargin.faultfinding.deciding.index import NOTHING, Crowd, Scales
from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem
from tripmargin.faultfinding.deciding.problem import CURED

RECIPE = Recipe(60, 50, states=6, slips=True, pairs=0.0005, swaps=6)
CASES, SEED, ASKED = 100, 1, 0.1

Choose = Callable[[Situation], int]


def information_per_minute(problem: Problem) -> Choose:
    """The peer: most information for the minutes that the action itself takes."""
    scales = Scales(problem)

    def choose(situation: Situation) -> int:
        at = np.array([situation.state])
        crowd = Crowd(situation.belief[None], situation.used[None], at, np.ones(1))
        weights = scales.weigh(crowd)
        looking = problem.move[situation.state, scales.places] + scales.minutes
        minutes = np.concatenate([looking, problem.fix_minutes[situation.state]])
        gain = np.maximum(weights.information[0], NOTHING) / minutes
        return int(np.where(weights.useful[0], gain, -1.0).argmax())

    return choose


def timed(choose: Policy, times: list[float]) -> Choose:
    """Ours, with the seconds of each choice noted; a situation met again is not timed."""
    met = set()

    def chosen(situation: Situation) -> int:
        if situation.key() not in met:
            met.add(situation.key())
            times.append(seconds(lambda: choose.plan(situation)))
        return int(choose.plan(situation).actions[0])

    return chosen


def wasted(problem: Problem, choose: Choose, case: int) -> float:
    """Minutes of one case beyond what somebody who knew the fault would spend."""
    rng = np.random.default_rng([SEED, case])
    hypothesis = int(rng.choice(len(problem.prior), p=problem.prior))
    draws = rng.random((100, len(problem.checks)))  # an answer for each check after each repair
    situation, repaired = situation_after(problem, []), 0
    minutes = -float(problem.known_minutes[hypothesis, situation.state])
    while hypothesis != CURED:
        action = choose(situation)
        if action < len(problem.checks):
            check = problem.checks[action]
            minutes += float(problem.move[situation.state, check.state]) + check.minutes
            columns = slice(problem.columns[action], problem.columns[action + 1])
            steps = problem.likelihood[hypothesis, columns].cumsum()[:-1]
            outcome = int((draws[repaired, action] > steps).sum())
            situation = observed(problem, situation, action, outcome)
        else:
            repair = action - len(problem.checks)
            minutes += float(problem.fix_minutes[situation.state, repair])
            hypothesis, repaired = int(problem.left[repair, hypothesis]), repaired + 1
            if hypothesis != CURED:
                situation = unhelped(problem, situation, repair)
    return minutes


def main() -> None:
    made = made_up_problem(RECIPE, SEED)
    problem = Problem.from_dict(made)
    size = f"{len(problem.hypotheses)} hypotheses, {len(problem.checks)} checks, 6 states"
    print(f"The next check, {size}; {where()}")
    times: list[float] = []
    ours = timed(policy(problem), times)
    peer = information_per_minute(problem)
    theirs_minutes = [wasted(problem, peer, case) for case in range(CASES)]
    ours_minutes = [wasted(problem, ours, case) for case in range(CASES)]
    say(
        "What is asked (100 ms) over the median next action",
        ASKED / median(times),
        "over 1",
        f"median {spoken(median(times))}, slowest {spoken(max(times))} of {len(times)}",
    )
    say(
        "Minutes wasted by information per minute, over ours",
        float(np.mean(theirs_minutes) / np.mean(ours_minutes)),
        "over 1",
        f"{np.mean(theirs_minutes):.1f} against {np.mean(ours_minutes):.1f} min,"
        f" means of the same {CASES} broken machines",
    )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # KiB on Linux
    say("300 MB over peak memory", 300 / peak, "over 1", f"{peak:.0f} MB, everything in")


if __name__ == "__main__":
    main()
