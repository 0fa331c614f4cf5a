"""What a daily test that passed proves after a repair, and what it leaves open.

A fault that the daily test does not show passes it every time; one that comes and goes passes it
while it is away. So a pass strikes out only what it would have shown, and a case is closed when the
chance that a fault is left is small.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, log

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.deciding.beliefs import Situation, unhelped
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem

LEFT_OPEN = 0.01
"""A case may be closed when the chance that a fault is left is no more than this."""
MISSED = 0.01
"""Chance that a lasting fault which the daily test shows passes it all the same: a slip."""
MISREAD = 0.01
"""Chance that the daily test is said to fail where nothing that it shows is wrong: a slip.
Engineering judgement, no source."""
ELSE_PASSES = 0.2
"""Chance that something which is not listed passes the daily test. Engineering judgement, no
source."""
ELSE_PASSES_AGAIN = 0.5
"""The same when the test has just passed: what passed once is likelier to pass again. Engineering
judgement, no source."""


def passes_needed(shows: float, missed: float = 0.01) -> int:
    """Tests that must pass before a fault that comes and goes is taken as gone.

    Parameters
    ----------
    shows : float
        Share of tests in which the fault shows while it is there.
    missed : float
        Chance taken of calling it gone while it is there.

    Notes
    -----
    All n pass with chance (1 - shows)^n, so n = ln(missed) / ln(1 - shows).

    Examples
    --------
    >>> passes_needed(0.4), passes_needed(1.0)
    (10, 1)
    """
    if not 0 < shows <= 1:
        raise ValueError(f"shows = {shows!r}: a share above 0, up to 1")
    return 1 if shows == 1 else ceil(log(missed) / log(1 - shows) - 1e-9)


def pass_chances(of: MachineProblem, again: bool = False) -> NDArray[np.float64]:
    """Chance that the daily test passes with each hypothesis still there; (H,).

    `again`: the same test passed just before.
    """
    shows = np.array([each.shows for each in of.hypotheses])
    chance = np.where(of.daily_shows, np.where(shows < 1, 1 - shows, MISSED), 1.0)
    chance[-1] = ELSE_PASSES_AGAIN if again else ELSE_PASSES
    chance[of.nothing] = 1.0
    return chance


def passed(of: MachineProblem, situation: Situation, repair: int, again: bool = False) -> Situation:
    """Return the situation after a repair whose daily test passed; `again` if it did just before.

    What the repair cured becomes 'nothing is wrong'; the rest is believed as far as it passes.
    """
    problem = of.problem
    left, chances = problem.left[repair], pass_chances(of, again)
    weight = np.zeros(len(problem.hypotheses))
    whole = left == CURED
    np.add.at(weight, left[~whole], situation.belief[~whole] * chances[left[~whole]])
    weight[of.nothing] += situation.belief[whole].sum()
    after = replace(situation, belief=weight / weight.sum(), state=problem.verify_state)
    return afresh(after, of.daily_makes)


def fail_chances(of: MachineProblem, step: int | None = None) -> NDArray[np.float64]:
    """Chance that the daily test fails with each hypothesis still there; (H,).

    `step`, from 1: that it fails at this step. A fault fails it where it first shows; a slip, and
    what is not listed, may fail it anywhere. One that comes and goes may be away until a later step
    shows it: that is left to the slips.
    """
    chance = np.maximum(1.0 - pass_chances(of), MISREAD)
    if step is None:
        return chance
    anywhere = np.full(len(chance), MISREAD / of.daily_steps)
    anywhere[-1] = chance[-1] / of.daily_steps
    here = np.where(of.daily_shows_at == step - 1, chance, 0.0)
    here[-1] = 0.0
    return np.asarray(np.maximum(here, anywhere))


def failed(
    of: MachineProblem, situation: Situation, repair: int, step: int | None = None
) -> Situation:
    """Return the situation after a repair whose daily test failed; `step` at which, from 1.

    What the repair cured is struck out; the rest is believed as far as it fails the test. Where the
    machine was left after a test that failed nobody knows: it is taken to be at rest again.
    """
    after = unhelped(of.problem, situation, repair)
    weight = after.belief * fail_chances(of, step)
    rest = of.problem.start_state
    return afresh(replace(after, belief=weight / weight.sum(), state=rest))


def afresh(situation: Situation, made: NDArray[np.bool_] | None = None) -> Situation:
    """Return the situation with every look to be made anew: the machine is another one now.

    But for the complaint, which is the first check: it was about the machine as it was; and for
    those that were just made in passing, (checks,).
    """
    used = np.zeros_like(situation.used) if made is None else made.copy()
    used[0] = True
    return replace(situation, used=used)


def doubt(of: MachineProblem, situation: Situation) -> float:
    """Chance that a fault is left."""
    return float(max(1.0 - situation.belief[of.nothing], 0.0))
