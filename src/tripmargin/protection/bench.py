"""One machine on the bench: fields once, passes once a piece, for every question about it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.machine import Machine
from tripmargin.protection.seeing import (
    HEIGHT,
    PLACE,
    Glimpse,
    Outlook,
    Sample,
    Sight,
    catch_curves,
    sight,
)
from tripmargin.protection.strength import Strength
from tripmargin.sensing.lines import REACH
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.tables import Passes, passes
from tripmargin.stopping import StopDensities, feed_speed, travel_chances

Array = NDArray[np.float64]
Progress = Callable[[float], None]
REFERENCE_BALL = 0.01  # m; a ball's signal goes with its volume, so one size serves all
_PLACES, _HEIGHTS, _SPEEDS = 25, 9, 10
_DRAWS = 4096
_WIDE = 1 << 15
_PLACE_DRAWS = 32  # of the tolerances at each place
_LATE_POINTS = 480


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
        # Limits of a normal distribution may reach below the roll; metal does not.
        self.heights = np.linspace(max(depth.low, 0.0), depth.high, count)
        self.speeds = self._speeds(cut_lengths)
        self.densities = StopDensities.of(machine)
        self._tables: dict[Piece, Passes] = {}
        self._curves: dict[Piece, Array] = {}
        self._samples: dict[tuple[int, float | None, float | None], Sample] = {}
        self._everywhere: dict[Piece, tuple[Sample, Array]] = {}
        self._sights: dict[tuple[Piece, int], Sight] = {}
        self._spread: dict[int, Piece] = {}  # sights of metal spread over the whole crop
        self._outlooks: dict[Piece, Outlook] = {}
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
            table = self.table(Piece.ball(REFERENCE_BALL))
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
        if any(sample is self._samples.get((n, None, None)) for n, _, _ in self._samples):
            self._spread[id(seen)] = piece
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
        few = Chances(missed @ weights, late @ weights, stopped @ weights)
        piece = self._spread.get(id(seen))
        if piece is None:
            return few
        # What is missed lies in the corners of the crop: that takes more draws than what is late.
        wide = self._outlook(piece).missed(feed_speed(self.machine, cut_length), scales)
        seen_share = np.maximum(few.too_late + few.protected, 1e-300)
        late_share = few.too_late / seen_share * (1 - wide)
        return Chances(wide, late_share, 1 - wide - late_share)

    def _outlook(self, piece: Piece) -> Outlook:
        """A large sample's peaks, looked up once a piece."""
        if piece not in self._outlooks:
            self._outlooks[piece] = Outlook.of(
                self.table(piece), self.sample(_WIDE), self.strength, self.curve(piece)
            )
        return self._outlooks[piece]

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
