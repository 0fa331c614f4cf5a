"""Which moves bring the gaps where they should be: the fewest that surely do. Many cases at once.

Gaps r, shares c by which a pawl's move takes the others along: r' = r + M o, with o the pawls' own
moves and M one on the diagonal, c_j in column j. A clevis moves by whole smallest turns; a clamp is
placed with a feeler, after which it is as far off as the hand and the feeler are.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.stopping.setting.adjusters import Adjusters
from tripmargin.stopping.setting.aiming import Aims
from tripmargin.stopping.setting.room import inside

Array = NDArray[np.float64]
_MANY = 4  # pawls up to which every choice of pawls to move is tried
_EQUAL = 9  # decimals of a score: two sure choices differ by the rounding of sums alone
WORTH, WORTH_UNSURE = 1e-3, 1e-2
"""Of the chance to be inside and in time: a wrench move that brings less is not made. The second
where no moves are sure enough before anything is measured again: that will tell more."""


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """Moves for many cases, (n, k): what each pawl does, and what comes of it.

    Attributes
    ----------
    moved : ndarray of bool
    steps : ndarray
        Smallest turns of a clevis; above zero they open the gap.
    own : ndarray, m
        Expected own move of each pawl, tightening included.
    after, after_sd : ndarray, m
        The gaps that come of it, and how far off they may be before they are measured again.
    inside : ndarray
        Chance that each is inside the window until it is set again.
    """

    moved: NDArray[np.bool_]
    steps: Array
    own: Array
    after: Array
    after_sd: Array
    inside: Array


@dataclass(frozen=True, slots=True)
class Choice:
    """Pawls to move, and which of the clevises among them go beyond the aim, not short of it.

    Attributes
    ----------
    pawls, beyond : tuple of int
        Places in the file's order.
    """

    pawls: tuple[int, ...]
    beyond: tuple[int, ...]


def moves(readings: ArrayLike, adjusters: Adjusters, aims: Aims, *, best: bool = False) -> Moves:
    """The moves for measured gaps.

    Parameters
    ----------
    readings : array_like, (n, k), m
        In the order of the file's pawls.
    adjusters : Adjusters
    aims : Aims
    best : bool
        Move also what is inside the window, where that brings more than one in a thousand.

    Notes
    -----
    Tried are: nothing; each pawl alone; more of them; each clevis to either whole turn about the
    aim. Chosen is the fewest pawls with which every gap is inside the window with the confidence
    asked, and of those the best chance to be inside and in time; where none is so sure, the best
    chance of all, a move more only where it brings something.
    """
    r = np.atleast_2d(np.asarray(readings, dtype=float))
    choices = choices_of(adjusters)
    parts = [_tried(r, choice, adjusters, aims.gaps) for choice in choices]
    own, steps = (np.stack([part[i] for part in parts]) for i in (0, 1))
    moved = np.zeros((len(choices), 1, len(adjusters.pawls)), dtype=bool)
    for row, choice in zip(moved, choices, strict=True):
        row[0, list(choice.pawls)] = True
    after = r + own @ taken_along(adjusters).T
    after_sd = np.sqrt(_variance(own, steps, moved, adjusters))
    within = inside(after, after_sd, adjusters)
    # A clevis that is turned by nothing is a choice that stands without it already.
    clevis = np.array([each.kind == "clevis" for each in adjusters.pawls])
    possible = ~(moved & clevis & (steps == 0)).any(axis=2)
    good = within * aims.chance_in_time(after)
    score = np.log(np.maximum(good, 1e-300)).sum(axis=2) - (
        WORTH if best else WORTH_UNSURE
    ) * moved.sum(axis=2)
    score = np.round(score, _EQUAL)  # of two as good the first, whatever the last digits say
    sure = (within >= adjusters.confidence_each).all(axis=2) & (not best)
    fewest = np.where(sure, 1e6 * (len(clevis) + 1 - moved.sum(axis=2)), 0.0)
    chosen = np.where(possible, fewest + score, -np.inf).argmax(axis=0)
    rows = np.arange(len(r))
    return Moves(
        moved[chosen, 0],
        *(part[chosen, rows] for part in (steps, own, after, after_sd, within)),
    )


@lru_cache(maxsize=64)
def choices_of(adjusters: Adjusters) -> tuple[Choice, ...]:
    """Every choice that is tried, nothing first.

    Parameters
    ----------
    adjusters : Adjusters
    """
    k = len(adjusters.pawls)
    made = []
    for size in range(k + 1) if k <= _MANY else (0, 1, k):
        for which in combinations(range(k), size):
            clevises = [i for i in which if adjusters.pawls[i].kind == "clevis"][:_MANY]
            for way in product((False, True), repeat=len(clevises)):
                beyond = tuple(i for i, far in zip(clevises, way, strict=True) if far)
                made.append(Choice(which, beyond))
    return tuple(made)


@lru_cache(maxsize=64)
def taken_along(adjusters: Adjusters) -> Array:
    """M of r' = r + M o, (k, k)."""
    shares = np.tile(adjusters.column("coupling.mean"), (len(adjusters.pawls), 1))
    np.fill_diagonal(shares, 1.0)
    return shares


def _tried(r: Array, choice: Choice, adjusters: Adjusters, target: Array) -> tuple[Array, Array]:
    """One choice for every case: the pawls' own moves, m, and the clevises' steps; (n, k)."""
    own, steps = np.zeros(r.shape), np.zeros(r.shape)
    some = list(choice.pawls)
    if not some:
        return own, steps
    along = taken_along(adjusters)
    own[:, some] = solved(along[np.ix_(some, some)], target[some] - r[:, some])
    clevises = [i for i in some if adjusters.pawls[i].kind == "clevis"]
    for i in clevises:
        each = adjusters.pawls[i]
        turns = np.floor((own[:, i] - each.shift.mean) / each.step + 1e-9)
        steps[:, i] = turns + (i in choice.beyond)
        own[:, i] = steps[:, i] * each.step + each.shift.mean
    clamps = [i for i in some if i not in clevises]
    if clamps and clevises:
        left = target[clamps] - r[:, clamps]
        left = left - own[:, clevises] @ along[np.ix_(clamps, clevises)].T
        own[:, clamps] = solved(along[np.ix_(clamps, clamps)], left)
    return own, steps


def solved(matrix: Array, right: Array) -> Array:
    """The solutions of matrix times solution = right, one a row, (n, m).

    Pawls may take each other along so that no moves bring all where they should be: then the
    nearest that there is.
    """
    try:
        return np.asarray(np.linalg.solve(matrix, right.T).T, dtype=float)
    except np.linalg.LinAlgError:
        return np.asarray((np.linalg.pinv(matrix) @ right.T).T, dtype=float)


def _variance(own: Array, steps: Array, moved: NDArray[np.bool_], adjusters: Adjusters) -> Array:
    """Of the gaps after the moves, m2 (c, n, k): before anything is measured again."""
    own_variance = own_variances(steps, moved, adjusters)
    mean, unsure = adjusters.column("coupling.mean"), adjusters.column("coupling.sd")
    from_each = mean**2 * own_variance + unsure**2 * own**2
    found = adjusters.reading_sd**2 + own_variance
    for i, each in enumerate(adjusters.pawls):
        for j in range(len(adjusters.pawls)):
            if j == i:
                continue
            # A clamp is placed with a feeler after the pawls before it: what they did is in that.
            known = moved[..., i] & (each.kind == "clamp") & (j < i)
            found[..., i] += np.where(known, 0.0, from_each[..., j])
    return found


def own_variances(steps: Array, moved: NDArray[np.bool_], adjusters: Adjusters) -> Array:
    """Of each pawl's own move, m2 (..., k): leverage, placing, tightening."""
    ways = np.array([each.way * each.leverage.sd for each in adjusters.pawls])
    clamp = np.array([each.kind == "clamp" for each in adjusters.pawls])
    tightening = adjusters.column("shift.sd") ** 2 + adjusters.column("shift_scatter") ** 2
    placing = np.where(clamp, adjusters.column("placed_sd"), 0.0) ** 2
    return np.asarray(moved * (tightening + placing + np.where(clamp, 0.0, steps * ways) ** 2))
