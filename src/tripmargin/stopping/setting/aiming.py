"""Which gap to aim at: not simply the window's middle, for the race says what each gap costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.results import plain
from tripmargin.stopping.setting.adjusters import Adjusters
from tripmargin.stopping.setting.in_time import InTime, normal_gap
from tripmargin.stopping.setting.room import inside, rooms

Array = NDArray[np.float64]
_NODES, _GRID = 7, 501
_FLAT = 1e-9  # a chance that changes less over the window does not change
_SURE = 1e-13
_EQUAL = 1e-6  # chances that differ by less are alike
_MATTERS = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class Aim:
    """Where one pawl's gap should be.

    Attributes
    ----------
    pawl : str
    gap : float, m
    room : (least, greatest) or None, m
        Readings at which it is left alone. None: none is sure enough.
    inside : float
        Chance that a gap set to the aim is inside the window until it is set again.
    sure_enough : bool
        Whether that reaches the confidence asked.
    race_matters : bool
        Whether the chance of being in time differs over the window by more than one in a thousand.
    """

    pawl: str
    gap: float
    room: tuple[float, float] | None
    inside: float
    sure_enough: bool
    race_matters: bool

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "pawl": self.pawl,
                "gap_m": self.gap,
                "room_m": self.room,
                "probability_inside": self.inside,
                "sure_enough": self.sure_enough,
                "race_matters": self.race_matters,
            }
        )
        return made


@dataclass(frozen=True, slots=True, eq=False)
class Aims:
    """Where the gaps should be, and how much it matters.

    Attributes
    ----------
    pawls : tuple of Aim, in the file's order
    cuts : tuple of float, m
        Those that the race was asked about; none where it is not known.
    grid : ndarray, (g,), m
    in_time : ndarray, (g, k)
        Mean over the cuts of the chance that the stop is in time, with pawl k's gap on the grid
        and the others at their aims; ones where the race is not known.
    common : ndarray, (g, c)
        That chance at each cut with all gaps alike.
    needs : tuple of str
        Fields that are missing for the race.
    """

    pawls: tuple[Aim, ...]
    cuts: tuple[float, ...]
    grid: Array
    in_time: Array
    common: Array
    needs: tuple[str, ...] = ()

    @property
    def gaps(self) -> Array:
        """The aims, m (k,)."""
        return np.array([each.gap for each in self.pawls])

    def chance_in_time(self, gap: Array) -> Array:
        """The chance for gaps (..., k), each with the others at their aims."""
        k = range(len(self.pawls))
        return np.stack([np.interp(gap[..., i], self.grid, self.in_time[:, i]) for i in k], -1)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "pawls": self.pawls,
                "cut_lengths_m": self.cuts,
                "gaps_m": self.grid[:: len(self.grid) // 20],
                "probability_in_time": self.common[:: len(self.grid) // 20].T,
                "needs": self.needs,
            }
        )
        return made


def aims(adjusters: Adjusters, in_time: InTime | None, cuts: Sequence[float]) -> Aims:
    """The best gap of every pawl.

    Parameters
    ----------
    adjusters : Adjusters
    in_time : callable or None
        The chance of a stop in time for gaps and a cut. None: the race is not asked.
    cuts : sequence of float, m

    Notes
    -----
    The aim is the gap with the greatest chance that the gap is inside the window until it is set
    again and that the stop is in time, the mean over the cuts, among those that are inside with the
    confidence asked. Gap as set, tightened and measured; drift of a season. Where no gap is sure
    enough it is the surest. First for all pawls alike, then for each with the others there.
    """
    low, high = adjusters.window
    grid = np.linspace(low, high, _GRID)
    sd = adjusters.set_sd()
    within = inside(np.repeat(grid[:, None], len(sd), axis=1), sd, adjusters)
    needs: tuple[str, ...] = ()
    race = _Race(adjusters, in_time, tuple(cuts), grid, sd)
    try:
        common = race.over(None, np.full(len(sd), np.nan))
    except NotKnownError as error:
        needs = error.needs
        race = _Race(adjusters, None, (), grid, sd)
        common = race.over(None, np.full(len(sd), np.nan))
    enough = within >= adjusters.confidence_each
    alike = _best(common.mean(axis=1) * within.prod(axis=1), np.asarray(enough.all(axis=1)), within)
    start = np.full(len(sd), grid[alike])
    columns = [
        common.mean(axis=1) if len(sd) == 1 else race.over(k, start).mean(axis=1)
        for k in range(len(sd))
    ]
    at = [
        _best(column * within[:, k], enough[:, k], within[:, [k]])
        for k, column in enumerate(columns)
    ]
    made = tuple(
        Aim(
            pawl=each.pawl,
            gap=float(grid[i]),
            room=room,
            inside=float(within[i, k]),
            sure_enough=bool(enough[i, k]),
            race_matters=bool(columns[k][0] - columns[k][-1] > _MATTERS),
        )
        for k, (i, each, room) in enumerate(zip(at, adjusters.pawls, rooms(adjusters), strict=True))
    )
    return Aims(made, race.cuts, grid, np.stack(columns, axis=1), common, needs)


def _best(value: Array, enough: NDArray[np.bool_], within: Array) -> int:
    """The best of those that are sure enough; without any, the surest. The middle of equals."""
    wanted = np.where(enough, value, -1.0) if enough.any() else within.prod(axis=1)
    equals = np.flatnonzero(wanted >= wanted.max() - _EQUAL)
    return int(equals[len(equals) // 2])


@dataclass(frozen=True, slots=True, eq=False)
class _Race:
    """The chance of being in time over the grid of gaps."""

    adjusters: Adjusters
    in_time: InTime | None
    cuts: tuple[float, ...]
    grid: Array
    sd: Array

    def over(self, pawl: int | None, others: Array) -> Array:
        """On the grid at each cut, (g, c): one pawl moves, or all alike."""
        if self.in_time is None or not self.cuts:
            return np.ones((len(self.grid), 1))
        return np.stack([self._at(cut, pawl, others) for cut in self.cuts], axis=1)

    def _at(self, cut: float, pawl: int | None, others: Array) -> Array:
        """A few gaps are raced, and a smooth line goes through their log odds."""
        from scipy.interpolate import PchipInterpolator

        gaps = np.linspace(self.grid[0], self.grid[-1], _NODES)
        ends = [self._one(gaps[i], cut, pawl, others) for i in (0, -1)]
        if abs(ends[0] - ends[1]) < _FLAT:
            return np.full(len(self.grid), ends[0])
        between = [self._one(gap, cut, pawl, others) for gap in gaps[1:-1]]
        chance = np.clip([ends[0], *between, ends[1]], _SURE, 1 - _SURE)
        odds = np.log(chance) - np.log1p(-chance)
        return np.asarray(1 / (1 + np.exp(-PchipInterpolator(gaps, odds)(self.grid))))

    def _one(self, gap: float, cut: float, pawl: int | None, others: Array) -> float:
        at = others.copy()
        at[slice(None) if pawl is None else pawl] = gap
        assert self.in_time is not None
        return self.in_time(
            {
                name: normal_gap(float(g), float(s))
                for name, g, s in zip(self.adjusters.names, at, self.sd, strict=True)
            },
            cut,
        )
