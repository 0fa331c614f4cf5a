"""The protection map: missed, too late or protected, over cut length and piece size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later, say
from tripmargin.ground.results import plain
from tripmargin.machine import Machine
from tripmargin.protection.bench import REFERENCE_BALL, Bench, Progress
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.reaching import ball_of

Array = NDArray[np.float64]
MOST_CELLS = 100_000
MAP_DRAWS = 2048  # of the lateness; what is missed takes many more, see `Bench.chances`


@dataclass(frozen=True, slots=True, eq=False)
class ProtectionMap:
    """Probabilities over cut length and ball diameter; the three sum to 1.

    Attributes
    ----------
    cut_lengths : ndarray, (c,), m;  diameters : ndarray, (d,), m
    missed, too_late, protected : ndarray, (c, d)
        Over places and heights evenly spread and all tolerances.
    longest_protected_cut, smallest_protected_ball : float or None, m
        Read off the map for an even spread of places: the longest cut at which the must-stop ball
        is protected, and the smallest ball protected at the cut that suits it best.
    """

    machine_name: str
    cut_lengths: Array
    diameters: Array
    missed: Array
    too_late: Array
    protected: Array
    confidence: float
    cuts_on_offer: tuple[float, ...]
    must_stop: str
    must_stop_diameter: float | None
    longest_protected_cut: float | None
    smallest_protected_ball: float | None
    assumed: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "machine": self.machine_name,
                "cut_lengths_m": self.cut_lengths,
                "diameters_m": self.diameters,
                "missed": self.missed,
                "too_late": self.too_late,
                "protected": self.protected,
                "confidence": self.confidence,
                "cuts_on_offer_m": self.cuts_on_offer,
                "must_stop": self.must_stop,
                "longest_protected_cut_m": self.longest_protected_cut,
                "smallest_protected_ball_m": self.smallest_protected_ball,
                "assumed": self.assumed,
            }
        )
        return made


def protection_map(
    machine: Machine,
    *,
    cut_lengths: Sequence[float] | Array | None = None,
    diameters: Sequence[float] | Array | None = None,
    progress: Progress | None = None,
    bench: Bench | None = None,
) -> ProtectionMap:
    """The protection map of a machine.

    Parameters
    ----------
    machine : Machine
    cut_lengths, diameters : sequence of float, m, optional
        Ascending; by default a range a little wider than the cuts on offer, and 4 to 80 mm.
    progress : callable, optional
        Told the share done, 0 to 1.

    Raises
    ------
    NotKnownError
        If the machine file lacks what seeing or stopping needs.
    ValueError
        If a length is not positive and finite, or there are over 100 000 cells.

    Notes
    -----
    Models page, Protected. 2048 evenly spread draws of place, height and tolerances; for each the
    chance of catching in noise and the exact chance of stopping in time, tooth phases included.
    """
    cuts, sizes = map_grid(machine, cut_lengths, diameters)
    bench = bench or Bench(
        machine, cuts.tolist(), None if progress is None else lambda s: progress(s / 2)
    )
    seen = bench.sight(Piece.ball(REFERENCE_BALL), bench.sample(MAP_DRAWS))
    scales = (sizes / REFERENCE_BALL) ** 3
    parts = np.empty((3, len(cuts), len(sizes)))
    for index, cut in enumerate(cuts):
        one = bench.chances(seen, float(cut), scales, fine=False)
        parts[:, index] = one.missed, one.too_late, one.protected
        if progress is not None:
            progress(0.5 + 0.5 * (index + 1) / len(cuts))
    return map_of(machine, cuts, sizes, parts)


def map_grid(
    machine: Machine,
    cut_lengths: Sequence[float] | Array | None,
    diameters: Sequence[float] | Array | None,
) -> tuple[Array, Array]:
    """Cut lengths (c,) and diameters (d,) of a map, m, ascending; see `protection_map`.

    Raises
    ------
    NotKnownError, ValueError
        As `protection_map`.
    """
    cuts = default_cuts(machine) if cut_lengths is None else _lengths("cut_lengths", cut_lengths)
    sizes = np.geomspace(4e-3, 80e-3, 40) if diameters is None else _lengths("diameters", diameters)
    if len(cuts) * len(sizes) > MOST_CELLS:
        raise ValueError(
            say(
                "{cuts} cut lengths x {diameters} diameters. Allowed: {most} cells at most.",
                cuts=len(cuts),
                diameters=len(sizes),
                most=MOST_CELLS,
            )
        )
    return cuts, sizes


def map_of(machine: Machine, cuts: Array, sizes: Array, parts: Array) -> ProtectionMap:
    """The map of a machine from its chances missed, too late and protected; `parts` (3, c, d)."""
    parts = np.clip(parts, 0.0, 1.0)
    parts /= parts.sum(axis=0)
    confidence = machine.limits.confidence.nominal
    must_stop = ball_of(machine)
    offered = machine.feed.cut_lengths if machine.feed is not None else ()
    return ProtectionMap(
        machine_name=machine.name,
        cut_lengths=cuts,
        diameters=sizes,
        missed=parts[0],
        too_late=parts[1],
        protected=parts[2],
        confidence=confidence,
        cuts_on_offer=tuple(offered),
        must_stop=machine.limits.must_stop,
        must_stop_diameter=must_stop,
        longest_protected_cut=longest_cut(cuts, sizes, parts[2], must_stop, confidence),
        smallest_protected_ball=smallest_ball(sizes, parts[2].max(axis=0), confidence),
        assumed=machine.assumed,
    )


def _lengths(name: str, values: Sequence[float] | Array) -> Array:
    made = np.atleast_1d(np.asarray(values, dtype=float))
    if made.ndim != 1 or not len(made):
        raise ValueError(say("{name}: one or more lengths in metres are needed.", name=name))
    if len(made) > MOST_CELLS:
        raise ValueError(
            say(
                "{name}: {count} values. Allowed: {most} at most.",
                name=name,
                count=len(made),
                most=MOST_CELLS,
            )
        )
    wrong = made[~(np.isfinite(made) & (made > 0))]
    if len(wrong):
        raise ValueError(
            say("{name}: {value} m. Allowed: positive, finite lengths.", name=name, value=wrong[0])
        )
    return np.unique(made)


def default_cuts(machine: Machine) -> Array:
    """Cut lengths for a map: the cuts on offer among even steps a little beyond them.

    Raises
    ------
    NotKnownError
        If the machine file offers none.
    """
    offered = machine.feed.cut_lengths if machine.feed is not None else ()
    if not offered:
        machine.need(later("the protection map"), "feed.knives")
        from tripmargin.ground.errors import NotKnownError

        raise NotKnownError(later("the protection map"), ["feed.cut_lengths"])
    low, high = offered[0], offered[-1]
    steps = np.linspace(max(0.5 * low, low - 0.15 * (high - low)), 1.15 * high, 24)
    return np.unique(np.concatenate([steps, offered if len(offered) <= 12 else []]))


def smallest_ball(diameters: Array, protected: Array, confidence: float) -> float | None:
    """The least diameter from which on P(protected) is at least the confidence; None where none.

    Between two diameters the probability's distance from 1 is taken as straight in its logarithm.
    """
    short = protected < confidence
    if short[-1]:
        return None
    if not short.any():
        return float(diameters[0])
    last = int(np.flatnonzero(short)[-1])
    return _crossed(diameters, protected, last, confidence)


def longest_cut(
    cuts: Array, diameters: Array, protected: Array, diameter: float | None, confidence: float
) -> float | None:
    """The longest cut at which a ball of that diameter is protected; None where none is."""
    if diameter is None:
        return None
    along = np.array([np.interp(np.log(diameter), np.log(diameters), row) for row in protected])
    return longest_protected(cuts, along, confidence)


def longest_protected(cuts: Array, protected: Array, confidence: float) -> float | None:
    """The longest cut whose P(protected) is at least the confidence, between cuts as above."""
    enough = np.flatnonzero(protected >= confidence)
    if not len(enough):
        return None
    last = int(enough[-1])
    if last == len(cuts) - 1:
        return float(cuts[-1])
    return _crossed(cuts, protected, last, confidence)


def _crossed(x: Array, p: Array, index: int, level: float) -> float:
    doubt = np.log(np.maximum(1 - p[index : index + 2], 1e-12))
    if doubt[0] == doubt[1]:
        return float(x[index])
    share = (np.log(1 - level) - doubt[0]) / (doubt[1] - doubt[0])
    return float(x[index] + np.clip(share, 0.0, 1.0) * (x[index + 1] - x[index]))
