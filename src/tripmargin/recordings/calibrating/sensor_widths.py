"""What the passes taught of a sensor, as fields of its file that are written each by itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import evenly_spread
from tripmargin.ground.languages import say
from tripmargin.ground.quantities import Quantity
from tripmargin.ground.results import Spread
from tripmargin.recordings.calibrating.seen import SHARES, Seen
from tripmargin.recordings.calibrating.signals import Signal, louder
from tripmargin.recordings.calibrating.widths import settled
from tripmargin.recordings.calibrating.writing_back import (
    CalibratedField,
    gain_quantity,
    is_learned,
    normal_quantity,
    surer_than,
)
from tripmargin.sensing.pieces import Piece

Floats = NDArray[np.float64]
_DRAWS = 2048
_TWO_SIDES = 1.959964  # of a normal distribution: 95 %


@dataclass(frozen=True, slots=True)
class SensorWritten:
    """The sensor's fields and what they say.

    Attributes
    ----------
    fields
    smallest_seen : Spread, m
        As the written file reads.
    notes
        Plain sentences.
    """

    fields: tuple[CalibratedField, ...]
    smallest_seen: Spread
    notes: tuple[str, ...]


def sensor_written(seen: Seen) -> SensorWritten:
    """The sensor's fields after the passes.

    Notes
    -----
    Passes tell gain times magnets over threshold where they were made. What they tell goes to the
    gain, the sensor's height too; the file's magnets, windings and filter keep their own limits,
    threshold and rotation what is known of them by themselves. The gain takes what is left, so that
    ln(peak / threshold) is as wide as was learned in the middle of the crop and where the pieces
    passed. Where threshold and rotation alone would make it wider, they are drawn in.
    """
    return _Writing.of(seen).written()


@dataclass(frozen=True, slots=True)
class _Writing:
    """What was learned, line by line.

    `lines` and their weights; limits (r, 3) of ln(peak / threshold) as learned; threshold (V) and
    turn (rad) with their standard deviations.
    """

    seen: Seen
    lines: tuple[Signal, ...]
    weights: Floats
    limits: Floats
    threshold: tuple[float, float]
    turn: tuple[float, float]

    @classmethod
    def of(cls, seen: Seen) -> _Writing:
        doubt, learned = seen.doubt, seen.learned
        draws = doubt.draws(learned.points)
        # Every steel ball on one line tells of the same.
        passed = list(
            {
                (
                    each.x,
                    each.height,
                    each.speed,
                    each.piece if louder(each.piece) is None else 0,
                ): one
                for each, one in seen.given
            }.values()
        )
        others = [one for one in seen.places.values() if one is not seen.middle]
        weights = [1.0, *[1 / len(passed)] * len(passed), *[0.0] * len(others)]
        lines = (seen.middle, *passed, *others)
        ratios = [doubt.log_ratio(one, draws) for one in lines]
        level = doubt.threshold.nominal * np.exp(draws.threshold)
        return cls(
            seen,
            lines,
            np.array(weights),
            np.array([learned.quantiles(each, SHARES) for each in ratios]),
            (learned.mean(level), learned.sd(level)),
            (learned.mean(draws.turn), learned.sd(draws.turn)),
        )

    @property
    def _wanted(self) -> Floats:
        return np.asarray(self.limits[:, 2] - self.limits[:, 0])

    def written(self) -> SensorWritten:
        drawn_in = 1.0
        if (self._widths(0.0, 1.0) > self._wanted)[self.weights > 0].any():
            drawn_in = settled(
                lambda share: self._widths(0.0, share), self._wanted, self.weights, most=1.0
            )
        widest = float(self._wanted.max()) / (2 * _TWO_SIDES) * 1.5
        sd = settled(
            lambda log_sd: self._widths(log_sd, drawn_in), self._wanted, self.weights, most=widest
        )
        gain, threshold, turn = self._fields(sd, drawn_in)
        doubt = self.seen.doubt
        fields = [CalibratedField("detector.gain", doubt.gain, gain)]
        for path, before, after, known in (
            ("detector.threshold", doubt.threshold, threshold, self.threshold),
            ("sensor.rotation", doubt.turn, turn, self.turn),
        ):
            if after is not before:
                fields.append(CalibratedField(path, before, after, surer_than(after, known[1])))
        limits = self._limits(gain, threshold, turn)
        low, middle, high = 0.01 * np.exp(-limits[0, ::-1] / 3)  # a ball's signal: its volume
        sd = float(middle * np.log(high / low) / (2 * _TWO_SIDES))
        smallest = Spread(float(middle), low=float(low), high=float(high), sd=sd)
        return SensorWritten(tuple(fields), smallest, self._notes(limits, drawn_in))

    def _fields(self, log_sd: float, drawn_in: float) -> tuple[Quantity, Quantity, Quantity]:
        """Gain, threshold and rotation as they would be written."""
        doubt = self.seen.doubt
        threshold, turn = doubt.threshold, doubt.turn
        if threshold.uncertain:
            at, sd = self.threshold
            threshold = normal_quantity(at, drawn_in * sd, "voltage")
        if turn.uncertain and is_learned(turn, self.turn[0], drawn_in * self.turn[1]):
            turn = normal_quantity(self.turn[0], drawn_in * self.turn[1], "angle")
        # A normal distribution has no skew of its own: the lines' median and both limits are met as
        # nearly as one gain can.
        nominal = doubt.gain.nominal
        off = self.limits - self._limits(gain_quantity(nominal, log_sd), threshold, turn)
        log_gain = float(self.weights @ off.mean(axis=1) / self.weights.sum())
        gain = gain_quantity(nominal * float(np.exp(log_gain)), log_sd)
        return gain, threshold, turn

    def _widths(self, log_sd: float, drawn_in: float) -> Floats:
        limits = self._limits(*self._fields(log_sd, drawn_in))
        return np.asarray(limits[:, 2] - limits[:, 0])

    def _limits(self, gain: Quantity, threshold: Quantity, turn: Quantity) -> Floats:
        """Of ln(peak / threshold) on each line, as a file with these reads, (r, 3)."""
        from scipy.special import ndtri

        doubt = self.seen.doubt
        u = evenly_spread(_DRAWS, 4).T
        volts = np.maximum(threshold.ppf(u[1]), 1e-9 * threshold.nominal)
        level = np.log(np.maximum(gain.ppf(u[0]), 1e-9) / doubt.gain.nominal) - np.log(volts)
        level = level + doubt.filed_sd * ndtri(u[3])
        turns = turn.ppf(u[2])
        still = np.zeros(_DRAWS)
        return np.array(
            [np.quantile(one.log_peak(still, turns) + level, SHARES) for one in self.lines]
        )

    def _notes(self, limits: Floats, drawn_in: float) -> tuple[str, ...]:
        made = []
        ratio = (limits[:, 2] - limits[:, 0]) / self._wanted
        if drawn_in == 0.0 and ratio[0] > 1.05:
            made.append(
                say(
                    "The file's own limits of magnets, windings and filter make the ball"
                    " that is just seen {ratio:.1f} times as wide as was learned. They are"
                    " left as they are.",
                    ratio=ratio[0],
                )
            )
        surer = [
            (float(ratio[i]), name)
            for name, place in self.seen.places.items()
            for i, one in enumerate(self.lines)
            if one is place
        ]
        least, name = min(surer)
        if least < 0.9:
            made.append(
                say(
                    "{height} above the roll the file reads surer than was learned:"
                    " {least:.2f} times the width. A gain is the same at every height; how"
                    " far the sensor stands off its height is not. A pass there tells.",
                    height=name,
                    least=least,
                )
            )
        return tuple(made)


def _unlike_others(piece: Piece) -> Piece | None:
    """The piece where its signal is no multiple of the reference ball's."""
    return piece if louder(piece) is None else None
