"""What timed stops taught, as fields of the machine file that are written each by itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import draw
from tripmargin.ground.quantities import Quantity
from tripmargin.ground.results import Spread
from tripmargin.recordings.calibrating.sampling import Posterior
from tripmargin.recordings.calibrating.seen import spread_of
from tripmargin.recordings.calibrating.stops import StopDoubt
from tripmargin.recordings.calibrating.widths import settled, shares_of_variance
from tripmargin.recordings.calibrating.writing_back import (
    CalibratedField,
    is_learned,
    normal_quantity,
    surer_than,
)

Floats = NDArray[np.float64]
VARYING = ("feed.", "chain.supply", "chain.hold_winding.temperature")
"""What changes from day to day: learned for the day of the stops, and left as the file has it."""
_DRAWS = 1024
_ELSEWHERE = 0.2  # weight of the shortest and the longest cut where no stop was timed at them


@dataclass(frozen=True, slots=True)
class StopWritten:
    """The stop's fields and what they say.

    Attributes
    ----------
    fields
    any_day : Spread, s
        Stop time at the first cut as learned, but with supply, temperature, cutterhead speed and
        slip anywhere within the file's limits.
    stop_time : Spread, s
        The same as the written file reads.
    """

    fields: tuple[CalibratedField, ...]
    any_day: Spread
    stop_time: Spread


def stop_written(doubt: StopDoubt, learned: Posterior, cuts: Sequence[float]) -> StopWritten:
    """The stop's fields: each at its posterior mean, the doubts drawn in.

    Parameters
    ----------
    doubt : StopDoubt
    learned : Posterior
    cuts : sequence of float, m
        Of the stops that were measured, the first one's first.

    Notes
    -----
    A stop time tells the sum of the stages and hardly which of them it lies in. The widths are
    chosen by least squares of the variances of the stop time at the cuts that were measured and, of
    less weight, at the shortest and the longest; then all by one factor, by drawing.
    """
    return _Writing.of(doubt, learned, cuts).written()


@dataclass(frozen=True, slots=True)
class _Writing:
    """What was learned, cut by cut.

    `any_day` are the stop times as learned; `known` the mean and the standard deviation of each
    field by itself.
    """

    doubt: StopDoubt
    learned: Posterior
    cuts: tuple[float, ...]
    weights: Floats
    any_day: tuple[Spread, ...]
    known: Mapping[str, tuple[float, float]]

    @classmethod
    def of(cls, doubt: StopDoubt, learned: Posterior, cuts: Sequence[float]) -> _Writing:
        measured = tuple(dict.fromkeys(cuts))
        feed = doubt.machine.feed
        ends = () if feed is None else (feed.cut_lengths[0], feed.cut_lengths[-1])
        others = tuple(dict.fromkeys(cut for cut in ends if cut not in measured))
        values = doubt.values(learned.points)
        known = {
            path: (learned.mean(column), learned.sd(column))
            for path, column in values.items()
            if not path.startswith(VARYING)
        }
        every = (*measured, *others)
        days = _another_day(doubt, learned)
        found = [_spread(doubt.terms(days, cut).middle()) for cut in every]
        weights = [1.0] * len(measured) + [_ELSEWHERE] * len(others)
        return cls(doubt, learned, every, np.array(weights), tuple(found), known)

    def written(self) -> StopWritten:
        wanted = np.array([each.high - each.low for each in self.any_day])
        fields: list[CalibratedField] = []
        if self.known:
            shares = self._shares(wanted)
            measured = self.weights == 1.0
            factor = settled(
                lambda part: self._widths(self._fields(shares, part), measured),
                wanted[measured],
                self.weights[measured],
                most=1.5,
            )
            fields = self._fields(shares, factor)
        return StopWritten(tuple(fields), self.any_day[0], self._read(fields, self.cuts[0]))

    def _shares(self, wanted: Floats) -> Floats:
        """Of each field's standard deviation, (f,)."""
        middle = {path: at for path, (at, _) in self.known.items()}
        pair = {path: np.array([at, at]) for path, at in middle.items()}
        variances = np.empty((len(self.cuts), len(middle)))
        for column, (path, (at, sd)) in enumerate(self.known.items()):
            ends = pair | {path: at + sd * np.array([-1.0, 1.0])}
            for row, cut in enumerate(self.cuts):
                low, high = self.doubt.terms(ends, cut).middle()
                variances[row, column] = ((high - low) / 2) ** 2
        kept = np.array([self._sd_of([], cut, only_varying=True) ** 2 for cut in self.cuts])
        sds = np.array([each.sd for each in self.any_day])
        return np.sqrt(shares_of_variance(variances, kept, sds**2, self.weights))

    def _fields(self, shares: Floats, factor: float) -> list[CalibratedField]:
        made = []
        before = dict(self.doubt.inputs)
        for (path, (at, sd)), share in zip(self.known.items(), shares, strict=True):
            q = before[path]
            off = min(share * factor, 1.0) * sd
            if is_learned(q, at, off):
                after = normal_quantity(at, off, q.dimension)
                made.append(CalibratedField(path, q, after, surer_than(after, sd)))
        return made

    def _widths(self, fields: list[CalibratedField], some: NDArray[np.bool_]) -> Floats:
        reads = [self._read(fields, cut) for cut, one in zip(self.cuts, some, strict=True) if one]
        return np.array([each.high - each.low for each in reads])

    def _read(self, fields: list[CalibratedField], cut: float) -> Spread:
        return _spread(self._stop_times(fields, cut))

    def _sd_of(self, fields: list[CalibratedField], cut: float, *, only_varying: bool) -> float:
        return float(self._stop_times(fields, cut, only_varying=only_varying).std())

    def _stop_times(
        self, fields: list[CalibratedField], cut: float, *, only_varying: bool = False
    ) -> Floats:
        """As a file with these fields reads, s, (n,)."""
        inputs = dict(self.doubt.inputs) | {each.path: each.after for each in fields}
        if only_varying:
            inputs = {
                path: q if path.startswith(VARYING) else _exactly(self.known[path][0], q)
                for path, q in inputs.items()
            }
        values, _ = draw(list(inputs.items()), _DRAWS)
        n = len(next(iter(values.values()))) if values else 1
        full = {path: values.get(path, np.full(n, q.nominal)) for path, q in inputs.items()}
        return self.doubt.terms(full, cut).middle()


def _exactly(at: float, q: Quantity) -> Quantity:
    return Quantity.exact(at, q.dimension)


def _another_day(doubt: StopDoubt, learned: Posterior) -> dict[str, Floats]:
    """Equally likely stops as learned, on days that have nothing to do with those of the stops."""
    values = doubt.values(learned.some(_DRAWS))
    varying = [(path, q) for path, q in doubt.inputs if path.startswith(VARYING)]
    if varying:
        fresh, _ = draw(varying, _DRAWS)
        order = np.random.default_rng(2).permutation(_DRAWS)
        values |= {path: column[order] for path, column in fresh.items()}
    return values


def _spread(values: Floats) -> Spread:
    even = Posterior(np.empty((len(values), 0)), np.full(len(values), 1 / len(values)))
    return spread_of(even, values)
