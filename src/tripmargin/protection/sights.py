"""What one machine's sensor sees: fields once, passes once a piece, whatever the stop does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later
from tripmargin.machine import Machine
from tripmargin.machine.sections import Limits
from tripmargin.protection.remembered import Remembered
from tripmargin.protection.seeing import (
    HEIGHT,
    PLACE,
    Outlook,
    Sample,
    Sight,
    catch_curves,
    sight,
)
from tripmargin.protection.strength import Strength
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.tables import Passes, passes
from tripmargin.stopping import feed_speed

Array = NDArray[np.float64]
Progress = Callable[[float], None]
REFERENCE_BALL = 0.01  # m; a ball's signal goes with its volume, so one size serves all
_PLACES, _HEIGHTS, _SPEEDS = 25, 9, 10
_DRAWS = 4096
_WIDE = 1 << 15
_PLACE_DRAWS = 32  # of the tolerances at each place


def sensed(machine: Machine, limits: Limits) -> Machine:
    """The machine less all that its sensor and the metal over it know nothing of.

    What is taken away here cannot be used by mistake, and two machines of which the same is left
    see the same. What is asked of a machine is no part of its seeing either: `limits` stand for
    those of every machine.
    """
    feed, detector = machine.feed, machine.detector
    return replace(
        machine,
        feed=None if feed is None else replace(feed, sensor_to_shear_bar=None),
        detector=None
        if detector is None
        else replace(detector, decision_delay=None, supply_minimum=None),
        chain=None,
        limits=limits,
        circuit=None,
        checks=None,
        assumed=(),
        changed=(),
        file="",
    )


class Sights:
    """One machine's tables of passes and what samples see by them. It knows nothing of the stop.

    Parameters
    ----------
    machine : Machine
    cut_lengths : sequence of float, m
        Passes are tabulated for every speed that these and their tolerances can give.
    progress : callable, optional
        Told the share done of each table, 0 to 1.
    places, heights : ndarray, m, optional
        Where passes are tabulated; by default over the whole roll and crop.
    remember : int
        How many times what was caught of a sample is kept, for whoever asks about the same cut
        again; some 2 MB each.
    """

    def __init__(
        self,
        machine: Machine,
        cut_lengths: Sequence[float],
        progress: Progress | None = None,
        *,
        places: Array | None = None,
        heights: Array | None = None,
        remember: int = 0,
    ) -> None:
        self.machine = machine
        self.progress = progress
        (self.slip, self.turning) = machine.need(
            later("protection"), "feed.slip", "feed.cutterhead_speed"
        )
        (width, depth) = machine.need(later("protection"), "feed.roll_width", "feed.crop_depth")
        count = _HEIGHTS if depth.uncertain else 1
        self.places = np.linspace(-0.5, 0.5, _PLACES) * width.nominal if places is None else places
        # Limits of a normal distribution may reach below the roll; metal does not.
        crop = np.linspace(max(depth.low, 0.0), depth.high, count)
        self.heights = crop if heights is None else heights
        self.speeds = self._speeds(cut_lengths)
        self._tables: dict[Piece, Passes] = {}
        self._curves: dict[Piece, Array] = {}
        self._samples: dict[tuple[int, float | None, float | None], Sample] = {}
        self._everywhere: dict[Piece, tuple[Sample, Array]] = {}
        self._sights: dict[tuple[Piece, int], Sight] = {}
        self._spread: dict[int, Piece] = {}  # sights of metal spread over the whole crop
        self._outlooks: dict[Piece, Outlook] = {}
        self._strength: Strength | None = None
        self._caught = Remembered[tuple[int, float, bytes], tuple[Sight, float, Array, Array]](
            remember
        )
        self._missed = Remembered[tuple[Piece, float, bytes], Array](remember)

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
        """What a sample sees of a piece; of the own samples it is looked up once."""
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

    def spread_of(self, seen: Sight) -> Piece | None:
        """The piece of a sight of metal spread over the whole crop; None for any other sight."""
        return self._spread.get(id(seen))

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

    def caught(self, seen: Sight, roll_speed: float, scales: Array) -> tuple[float, Array, Array]:
        """What is caught of a sight at one cut, for signals scaled by `scales` (s,).

        Returns the drift of the crossing with the speed (s), and for each draw the chance of
        catching and the place of the crossing (m), arrays (s, n).
        """

        def find() -> tuple[Sight, float, Array, Array]:
            glimpse = seen.at(roll_speed)
            # The sight goes along, so that its number is not given to another meanwhile.
            return seen, glimpse.drift, *glimpse.caught(scales[:, None])

        key = (id(seen), roll_speed, scales.tobytes())
        _, drift, chance, where = self._caught.get(key, find)
        return drift, chance, where

    def missed(self, piece: Piece, roll_speed: float, scales: Array) -> Array:
        """Share missed of metal spread over the whole crop, by a large sample; (s,)."""
        if piece not in self._outlooks:
            self._outlooks[piece] = Outlook.of(
                self.table(piece), self.sample(_WIDE), self.strength, self.curve(piece)
            )
        key = (piece, roll_speed, scales.tobytes())
        return self._missed.get(key, lambda: self._outlooks[piece].missed(roll_speed, scales))
