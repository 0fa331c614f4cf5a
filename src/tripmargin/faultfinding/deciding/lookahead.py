"""Looking ahead: compare the best few actions, and what follows each, with the true slips.

The tree is built level by level, all situations of a level at once. On the first levels several
actions of each situation are compared; below them the index alone is followed, to the end. So the
value of a leaf is what the index would really cost from there on, and the comparison can only
improve on the index (a 'rollout': Bertsekas, Tsitsiklis and Wu, J. Heuristics 3 (1997) 245; from
memory). With every useful action compared on every level the same tree is exact.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.deciding.index import NOTHING, Crowd, Floats, Scales, Weights
from tripmargin.faultfinding.deciding.problem import CURED

Ints = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Effort:
    """How far to look and how much work that may be."""

    depth: int = 2
    """Levels on which several actions are compared."""
    beam: int = 6
    """Actions compared on each of those levels."""
    least_reach: float = 1e-7
    """Situations that are less likely than this are judged by the index and not followed."""
    most: int | None = None
    """Actions followed in all; beyond it the whole tree is given up (no limit where None)."""


@dataclass(frozen=True, eq=False)
class Level:
    """One level of the tree, after its situations are weighed."""

    estimate: Floats  # (M,) avoidable minutes to come, as the index judges
    chosen: Ints  # (M, W) actions compared, -1 where none
    cost: Floats  # (M, W) avoidable minutes of each
    parent: Ints  # (E,) flat position in `chosen` of each branch to the next level
    child: Ints  # (E,) situation of the next level
    chance: Floats  # (E,)


def look_ahead(scales: Scales, root: Crowd, effort: Effort) -> tuple[Ints, Floats] | None:
    """Avoidable minutes to expect with each action worth comparing, best first.

    Parameters
    ----------
    scales : Scales
    root : Crowd
        One situation.
    effort : Effort

    Returns
    -------
    (actions, minutes) or None
        Numbers of the actions and what each costs beyond what is needed; None when the tree
        would follow more than `effort.most` actions.
    """
    levels: list[Level] = []
    crowd, weights, total, before = root, scales.weigh(root), 0, 0
    while len(crowd):
        chosen, estimate = choose(scales, crowd, weights, effort, len(levels))
        follow = int((chosen >= 0).sum())
        growth = follow / max(before, 1)
        if effort.most is not None and total + follow * max(1.0, growth / 2) > effort.most:
            return None  # growth slackens from level to level, so half of it is a fair guess
        total, before = total + follow, follow
        cost = np.take_along_axis(weights.avoidable, np.maximum(chosen, 0), axis=1)
        parent, chance, crowd = branches(scales, crowd, chosen)
        child, crowd, weights = merged(scales, crowd)
        cost = np.maximum(cost, 0.0)
        levels.append(Level(estimate, chosen, cost, parent, child, chance))
    worth = np.zeros(0)
    for level in reversed(levels):
        worth, compared = fold(level, worth)
    actions = levels[0].chosen[0]
    order = np.lexsort((levels[0].cost[0], compared[0].round(9)))
    order = order[actions[order] >= 0]
    return actions[order], compared[0][order]


def choose(
    scales: Scales, crowd: Crowd, weights: Weights, effort: Effort, depth: int
) -> tuple[Ints, Floats]:
    """Choose the actions to compare in each situation; return also the index's own estimate.

    The estimate is the doubt at the price of the best ratio: exact where one action settles it.
    """
    least = weights.ratios().min(axis=1)
    estimate = weights.doubt * np.where(np.isfinite(least), least, 0.0)
    merit = weights.order_of_merit(scales.problem.again_after_repair)
    beam = effort.beam if depth < effort.depth else 1
    chosen = best_few(merit, weights.avoidable, scales.onward, beam)
    follow = (weights.doubt > NOTHING) & (crowd.reach >= effort.least_reach)
    if depth == 0:
        follow[:] = True
    return np.where(follow[:, None], chosen, -1), estimate


def best_few(merit: Floats, minutes: Floats, onward: Floats, count: int) -> Ints:
    """Actions of least merit number, best first, -1 where there are no more; (M, count or fewer).

    Equals go by avoidable minutes, and then by the way from there to the verification, (A,), so
    that the order in which a problem lists things says nothing.
    """
    if count == 1:
        least = merit.min(axis=1, keepdims=True)
        fewest = np.where(merit <= least * (1 + 1e-9) + 1e-9, minutes, np.inf)
        shortest = fewest <= fewest.min(axis=1, keepdims=True) + 1e-9
        best = np.where(shortest, onward, np.inf).argmin(axis=1)
        return np.where(np.isfinite(least), best[:, None], -1)
    usable = int(np.isfinite(merit).sum(axis=1).max())
    ways = np.broadcast_to(onward, merit.shape)
    order = np.lexsort((ways, minutes.round(9), merit.round(9)), axis=1)[:, : min(count, usable)]
    return np.where(np.isfinite(np.take_along_axis(merit, order, axis=1)), order, -1)


def branches(scales: Scales, crowd: Crowd, chosen: Ints) -> tuple[Ints, Floats, Crowd]:
    """Follow each chosen action to each thing that may come of it."""
    problem = scales.problem
    parents, chances, beliefs, used, states = [], [], [], [], []
    for action in np.unique(chosen[chosen >= 0]):
        flat = np.flatnonzero(chosen == action)
        rows = flat // chosen.shape[1]
        if action < len(problem.checks):
            check = problem.checks[action]
            spent = crowd.used[rows]
            spent[:, action] = True
            state = check.state
            columns = range(problem.columns[action], problem.columns[action + 1])
            results = [crowd.beliefs[rows] * problem.likelihood[:, k] for k in columns]
        else:
            spent = crowd.used[rows]
            if problem.again_after_repair:
                spent[:] = False
            state = problem.verify_state
            results = [left_over(problem.left[action - len(problem.checks)], crowd.beliefs[rows])]
        for result in results:
            chance = result.sum(axis=1)
            real = chance > NOTHING
            parents.append(flat[real])
            chances.append(chance[real])
            beliefs.append(result[real] / chance[real, None])
            used.append(spent[real])
            states.append(np.full(real.sum(), state))
    if not parents:
        nobody = Crowd(crowd.beliefs[:0], crowd.used[:0], crowd.states[:0], crowd.reach[:0])
        return np.zeros(0, np.intp), np.zeros(0), nobody
    parent, chance = np.concatenate(parents), np.concatenate(chances)
    reach = crowd.reach[parent // chosen.shape[1]] * chance
    return (
        parent,
        chance,
        Crowd(np.concatenate(beliefs), np.concatenate(used), np.concatenate(states), reach),
    )


def left_over(left: Ints, beliefs: Floats) -> Floats:
    """Beliefs after a repair whose verification failed, not scaled; (M, H)."""
    itself = np.arange(len(left))
    result = np.where(left == itself, beliefs, 0.0)
    source = np.flatnonzero((left != itself) & (left != CURED))
    if len(source):
        np.add.at(result.T, left[source], beliefs.T[source])
    return result


def merged(scales: Scales, crowd: Crowd) -> tuple[Ints, Crowd, Weights]:
    """Weigh a crowd and put equal situations together: findings may come in another order.

    A used-up check that could tell nothing more makes no difference.
    """
    beliefs = np.where(crowd.beliefs < NOTHING, 0.0, crowd.beliefs)
    first, child = alike(beliefs, crowd.used, crowd.states)
    reach = np.zeros(len(first))
    np.add.at(reach, child, crowd.reach)
    crowd = Crowd(beliefs[first], crowd.used[first], crowd.states[first], reach)
    weights = scales.weigh(crowd)
    first, again = alike(crowd.beliefs, weights.spent, crowd.states)
    reach = np.zeros(len(first))
    np.add.at(reach, again, crowd.reach)
    crowd = Crowd(crowd.beliefs[first], weights.spent[first], crowd.states[first], reach)
    return again[child], crowd, weights.of(first)


def alike(beliefs: Floats, used: NDArray[np.bool_], states: Ints) -> tuple[Ints, Ints]:
    """Return the first of each kind of situation, and the kind of each."""
    rng = np.random.default_rng(0)  # random directions: unequal rows fall on unequal numbers
    marks = beliefs @ rng.random(beliefs.shape[1]) + 8.0 * states
    marks += used @ rng.random(used.shape[1])
    _, first, kind = np.unique(marks.round(10), return_index=True, return_inverse=True)
    return first.astype(np.intp), kind.astype(np.intp)


def fold(level: Level, worth: Floats) -> tuple[Floats, Floats]:
    """Return each situation's value from the next level's; (M,) and each action's, (M, W)."""
    shape = level.chosen.shape
    later = np.bincount(
        level.parent, weights=level.chance * worth[level.child], minlength=shape[0] * shape[1]
    )
    compared = np.where(level.chosen >= 0, level.cost + later.reshape(shape), np.inf)
    least = compared.min(axis=1) if shape[1] else np.full(shape[0], np.inf)
    return np.where(np.isfinite(least), least, level.estimate), compared
