"""From a situation to its ranked actions, looking as far ahead as the problem's size allows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.deciding.index import Crowd, Floats, Scales
from tripmargin.faultfinding.deciding.lookahead import Effort, Ints, look_ahead
from tripmargin.faultfinding.deciding.problem import Problem

Method: TypeAlias = Literal["best", "look-ahead", "index"]
Used: TypeAlias = Literal["exact", "look-ahead", "index"]

EVERY = 10**6
BEAM = 6
"""Actions compared with each other when looking ahead."""
KEPT, EQUALS = 100, 50
"""Hypotheses that the choice is made over, the likeliest, and how many more equals of the last of
them; beliefs are always over all."""
VERY_FEW, FEW = 12, 60
"""Hypotheses up to which three and two steps of looking ahead are tried."""
EXACT_WORK = 700_000
"""Hypotheses times the actions that an exact tree may follow: about a tenth of a second."""
NEAR_WORK = 100_000
"""Actions that a look-ahead may follow, times 20 plus the hypotheses: about 25 ms."""


@dataclass(frozen=True, eq=False)
class Plan:
    """Actions worth doing now, the best first, and what each costs till protected and proved."""

    actions: Ints  # numbers
    minutes: Floats  # expected, in all
    needed: float
    """Minutes of these that even somebody who knew the fault would spend."""
    used: Used
    """How it was found."""


def efforts(method: Method, hypotheses: int, beam: int) -> list[tuple[Used, Effort]]:
    """Ways to look ahead, the most thorough first; each is dropped if it would be too much work."""
    if method == "index":
        return [("index", Effort(depth=0, beam=1, least_reach=2.0))]
    near = NEAR_WORK // (20 + hypotheses)
    every = Effort(depth=EVERY, beam=EVERY, least_reach=0.0, most=EXACT_WORK // max(hypotheses, 5))
    three = Effort(depth=3, beam=beam, least_reach=1e-7, most=2 * near)
    two = Effort(depth=2, beam=beam, least_reach=1e-7, most=near)
    one = Effort(depth=1, beam=beam, least_reach=3e-3, most=near)
    coarse = Effort(depth=1, beam=beam, least_reach=1e-2)
    looking = [one, coarse]
    if hypotheses <= FEW:
        looking = [two, *looking]
    if hypotheses <= VERY_FEW:
        looking = [three, *looking]
    exact: list[tuple[Used, Effort]] = [("exact", every)] if method == "best" else []
    return [*exact, *(("look-ahead", effort) for effort in looking)]


def planner(problem: Problem, method: Method, beam: int = BEAM) -> Callable[[Situation], Plan]:
    """Return a function that ranks the actions of a situation."""
    whole = Scales(problem)

    def plan(situation: Situation) -> Plan:
        scales, dropped = narrowed(whole, situation)
        belief = situation.belief[scales.problem.kept]
        one = (belief / belief.sum())[None]
        root = Crowd(one, situation.used[None], np.array([situation.state]), np.ones(1))
        needed = float(situation.belief @ problem.known_minutes[:, situation.state])
        for used, effort in efforts(method, one.shape[1], beam):
            if used == "exact" and dropped:
                continue
            found = look_ahead(scales, root, effort)
            if found is not None:
                return Plan(found[0], found[1] + needed, needed, used)
        raise AssertionError("the last effort has no limit")

    return plan


def narrowed(whole: Scales, situation: Situation) -> tuple[Scales, bool]:
    """Return scales for what is believed at all, at most the likeliest, and whether any is lost."""
    believed = np.flatnonzero(situation.belief)
    dropped = len(believed) > KEPT
    if dropped:
        believed = _likeliest(situation.belief, believed)
    if len(believed) == len(situation.belief):
        return whole, False
    return Scales(whole.problem.restricted(believed)), dropped


def _likeliest(belief: Floats, believed: Ints) -> Ints:
    """The likeliest hypotheses, with all equals of the last of them or none where there are few.

    So the choice does not hang on the order in which a file lists faults of one rate.
    """
    order = np.argsort(-belief[believed], kind="stable")
    sorted_beliefs = belief[believed][order]
    last = sorted_beliefs[KEPT - 1]
    above = int((sorted_beliefs > last * (1 + 1e-9)).sum())
    with_equals = int((sorted_beliefs >= last * (1 - 1e-9)).sum())
    count = with_equals if with_equals <= KEPT + EQUALS else above if above >= EQUALS else KEPT
    found: Ints = believed[order[:count]]
    return found
