"""The protection map: missed, too late or protected, over cut length and piece size."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import plain
from tripmargin.machine import Machine
from tripmargin.protection.seeing import (
    HEIGHT,
    PLACE,
    Glimpse,
    Sample,
    Sight,
    catch_curves,
    sight,
)
from tripmargin.protection.strength import Strength
from tripmargin.sensing.lines import REACH
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.reaching import ball_of
from tripmargin.sensing.tables import Passes, passes
from tripmargin.stopping import StopDensities, feed_speed, travel_chances

Array = NDArray[np.float64]
Progress = Callable[[float], None]
MOST_CELLS = 100_000
_REFERENCE = 0.01  # m
_PLACES, _HEIGHTS, _SPEEDS = 25, 9, 10
_DRAWS = 2048
_PLACE_DRAWS = 32  # of the tolerances at each place
_LATE_POINTS = 480


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


@dataclass(frozen=True, slots=True)
class Chances:
    """P(missed), P(caught but too late), P(caught and stopped); arrays of one shape."""

    missed: Array
    too_late: Array
    protected: Array


class Bench:
    """One machine's tables, shared by every question about it: fields once, passes once a piece."""

    def __init__(
        self, machine: Machine, cut_lengths: Sequence[float], progress: Progress | None = None
    ) -> None:
        self.machine = machine
        self.progress = progress
        (self.slip, self.turning) = machine.need("protection", "feed.slip", "feed.cutterhead_speed")
        (width, depth) = machine.need("protection", "feed.roll_width", "feed.crop_depth")
        self.places = np.linspace(-0.5, 0.5, _PLACES) * width.nominal
        count = _HEIGHTS if depth.uncertain else 1
        self.heights = np.linspace(depth.low, depth.high, count)
        self.speeds = self._speeds(cut_lengths)
        self.densities = StopDensities.of(machine)
        self._tables: dict[Piece, Passes] = {}
        self._curves: dict[Piece, Array] = {}
        self._samples: dict[tuple[int, float | None, float | None], Sample] = {}
        self._everywhere: dict[Piece, tuple[Sample, Array]] = {}
        self._sights: dict[tuple[Piece, int], Sight] = {}
        self._lates: dict[tuple[float, float, bool], tuple[Array, Array]] = {}
        self._strength: Strength | None = None

    def _speeds(self, cut_lengths: Sequence[float]) -> Array:
        """Speeds of the metal to tabulate: all that the cuts and their tolerances can give."""
        each = [feed_speed(self.machine, float(cut)) for cut in cut_lengths]
        low = min(each) * self.turning.low / self.turning.nominal * (1 - self.slip.high)
        high = max(each) * self.turning.high / self.turning.nominal * (1 - self.slip.low)
        if high / low < 1.0001:
            return np.array([low * 0.999, high * 1.001])
        count = int(np.clip(np.ceil(np.log(high / low) / 0.2) + 1, 3, _SPEEDS))
        return np.geomspace(low, high, count)

    def table(self, piece: Piece) -> Passes:
        """Passes of a piece, tabulated once."""
        if piece not in self._tables:
            self._tables[piece] = passes(
                self.machine,
                piece,
                speeds=self.speeds,
                places=self.places,
                heights=self.heights,
                progress=self.progress,
            )
        return self._tables[piece]

    @property
    def strength(self) -> Strength:
        """How the sensor's tolerances scale the signal, found at the strongest place."""
        if self._strength is None:
            table = self.table(Piece.ball(_REFERENCE))
            h = len(table.heights) // 2
            x = float(table.places[table.peak[0, 0, h].argmax()])
            self._strength = Strength.of(
                self.machine,
                x=x,
                height=float(table.heights[h]),
                speed=float(np.sqrt(self.speeds[0] * self.speeds[-1])),
            )
        return self._strength

    def sample(
        self, n: int = _DRAWS, *, place: float | None = None, height: float | None = None
    ) -> Sample:
        """Places, heights and tolerances, evenly spread; drawn once."""
        key = (n, place, height)
        if key not in self._samples:
            self._samples[key] = Sample.of(
                self.machine, n, self.strength, place=place, height=height
            )
        return self._samples[key]

    def sight_near(self, piece: Piece, sample: Sample, roll_speed: float) -> Sight:
        """What a sample sees of a piece at one cut: only the speeds around it are looked up."""
        table, speeds = self.table(piece), roll_speed * sample.speed_factor()
        low, high = float(speeds.min()), float(speeds.max())
        some = np.isin(table.speeds, (part := table.near(low, high)).speeds)
        return sight(part, sample, self.strength, self.curve(piece)[some])

    def curve(self, piece: Piece) -> Array:
        """Chance of catching a piece over its signal, at each speed; computed once."""
        if piece not in self._curves:
            self._curves[piece] = catch_curves(self.machine, self.table(piece))
        return self._curves[piece]

    def sight(self, piece: Piece, sample: Sample) -> Sight:
        """What a sample sees of a piece; of the bench's own samples it is looked up once."""
        key = (piece, id(sample))
        if key in self._sights:
            return self._sights[key]
        seen = sight(self.table(piece), sample, self.strength, self.curve(piece))
        own = (*self._samples.values(), *(one for one, _ in self._everywhere.values()))
        if any(sample is one for one in own):
            self._sights[key] = seen
        return seen

    def everywhere(self, piece: Piece) -> tuple[Sample, Array]:
        """Every place and height of a piece's table with the same tolerances at each.

        Returns the sample, place after place, and the weights of one place's draws.
        """
        if piece not in self._everywhere:
            table = self.table(piece)
            height, place = (
                a.ravel() for a in np.meshgrid(table.heights, table.places, indexing="ij")
            )
            one = self.sample(_PLACE_DRAWS, place=0.0, height=float(table.heights[0]))
            count = len(one.weights)
            values = {path: np.tile(v, len(place)) for path, v in one.values.items()}
            values[PLACE], values[HEIGHT] = np.repeat(place, count), np.repeat(height, count)
            weights = np.tile(one.weights, len(place)) / len(place)
            self._everywhere[piece] = Sample(self.machine, values, weights), one.weights
        return self._everywhere[piece]

    def chances(self, seen: Sight, cut_length: float, scales: Array, *, fine: bool) -> Chances:
        """The three chances at one cut, for signals scaled by `scales` (s,); arrays (s,)."""
        missed, late, stopped = self.chances_by_draw(seen, cut_length, scales, fine=fine)
        weights = seen.sample.weights
        return Chances(missed @ weights, late @ weights, stopped @ weights)

    def chances_by_draw(
        self, seen: Sight, cut_length: float, scales: Array, *, fine: bool
    ) -> tuple[Array, Array, Array]:
        """As `chances`, for each draw by itself: arrays (s, n)."""
        glimpse = seen.at(feed_speed(self.machine, cut_length))
        chance, where = glimpse.caught(np.asarray(scales, dtype=float)[:, None])
        late = chance * self._late(cut_length, glimpse, where, fine=fine)
        return 1.0 - chance, late, chance - late

    def _late(self, cut_length: float, glimpse: Glimpse, where: Array, *, fine: bool) -> Array:
        """Chance of being too late at each crossing: tabulated along y once, then looked up."""
        key = (cut_length, round(glimpse.drift, 4), fine)
        if key not in self._lates:
            travel = travel_chances(self.machine, cut_length, densities=self.densities, fine=fine)
            y = np.linspace(-REACH, 2 * REACH, _LATE_POINTS)
            late = travel.late(y, drift=glimpse.drift, fine=fine)
            # Far out in the tail the logarithm is the nearly straight one.
            self._lates[key] = y, np.log(late + 1e-300)
        found = np.exp(np.interp(where, *self._lates[key]))
        return np.where(found < 1e-250, 0.0, found)


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
    cuts = default_cuts(machine) if cut_lengths is None else _lengths("cut_lengths", cut_lengths)
    sizes = np.geomspace(4e-3, 80e-3, 40) if diameters is None else _lengths("diameters", diameters)
    if len(cuts) * len(sizes) > MOST_CELLS:
        asked = f"{len(cuts)} cut lengths x {len(sizes)} diameters"
        raise ValueError(f"{asked}. Allowed: {MOST_CELLS} cells at most.")
    bench = bench or Bench(
        machine, cuts.tolist(), None if progress is None else lambda s: progress(s / 2)
    )
    seen = bench.sight(Piece.ball(_REFERENCE), bench.sample())
    scales = (sizes / _REFERENCE) ** 3
    parts = np.empty((3, len(cuts), len(sizes)))
    for index, cut in enumerate(cuts):
        one = bench.chances(seen, float(cut), scales, fine=False)
        parts[:, index] = one.missed, one.too_late, one.protected
        if progress is not None:
            progress(0.5 + 0.5 * (index + 1) / len(cuts))
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
        raise ValueError(f"{name}: one or more lengths in metres are needed.")
    if len(made) > MOST_CELLS:
        raise ValueError(f"{name}: {len(made)} values. Allowed: {MOST_CELLS} at most.")
    wrong = made[~(np.isfinite(made) & (made > 0))]
    if len(wrong):
        raise ValueError(f"{name}: {wrong[0]} m. Allowed: positive, finite lengths.")
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
        machine.need("the protection map", "feed.knives")
        from tripmargin.ground.errors import NotKnownError

        raise NotKnownError("the protection map", ["feed.cut_lengths"])
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
