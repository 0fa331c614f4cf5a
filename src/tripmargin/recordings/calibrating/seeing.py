"""What is not known of a sensor and its detector, and what passes say of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import evenly_spread
from tripmargin.ground.languages import say
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.protection.strength import Strength
from tripmargin.recordings.calibrating.lines import middle_of, slow_lines
from tripmargin.recordings.calibrating.observations import PeakRead, TestPass
from tripmargin.recordings.calibrating.signals import REFERENCE, Signal, signal
from tripmargin.sensing.sensor import sensor_of
from tripmargin.stopping import metal_speed

Floats = NDArray[np.float64]
UNKNOWN_SIGNAL = 0.25  # sd of ln(signal) where the file gives the sensor no tolerance: assumed
UNKNOWN_HEIGHT = 0.005  # m, either way: assumed
LAPSE = 0.005  # share of passes that are noted wrongly: assumed
_KNOTS, _SHARES = np.polynomial.hermite_e.hermegauss(5)


@dataclass(frozen=True, slots=True)
class SensorDraws:
    """Many sensors at once, (n,) each.

    Attributes
    ----------
    strength, gain
        Logarithms, over the file's own: of what the magnets and windings give, of the amplifier.
    threshold
        Logarithm, over the file's own.
    height
        Of the whole sensor over where the file has it, m.
    turn
        Of the sensor about the roll's axis, rad.
    noise
        Over the threshold.
    """

    strength: Floats
    gain: Floats
    threshold: Floats
    height: Floats
    turn: Floats
    noise: Floats

    @property
    def signal(self) -> Floats:
        """ln(output over the file's own)."""
        return np.asarray(self.strength + self.gain)


@dataclass(frozen=True, slots=True)
class SensorDoubt:
    """What is not known of a machine's sensor before anything is measured.

    Attributes
    ----------
    machine
        With what the sensor knows nothing of left out, so that it may be kept by.
    strength_sd
        Of ln(strength).
    filed_sd
        The part of it that the file itself gives; the rest is assumed.
    gain, threshold, noise
        As the file has them.
    turn
        The sensor's rotation; None where it is exact.
    height
        m, either way, evenly.
    pivot : Signal or None
        Where the file's gain was learned from passes it is that of the whole sensor, its height
        too, on this line; so its height changes the signal on the other lines only.
    assumed
        Plain sentences.
    """

    machine: Machine
    strength_sd: float
    filed_sd: float
    gain: Quantity
    threshold: Quantity
    noise: Quantity
    turn: Quantity
    height: float
    pivot: Signal | None
    assumed: tuple[str, ...]

    dimensions = 6

    @classmethod
    def of(cls, machine: Machine, *, height: float = UNKNOWN_HEIGHT) -> SensorDoubt:
        """A machine's.

        Raises
        ------
        NotKnownError
            If the machine file lacks what a pass needs.
        """
        needed = ("detector.gain", "detector.threshold", "detector.noise")
        gain, threshold, noise = machine.need("a calibration", *needed)
        rotation = sensor_of(machine, "a calibration").rotation
        turn = rotation if rotation is not None else Quantity.exact(0.0, "angle")
        sd = filed = _strength_sd(machine)
        assumed = [
            say("The sensor's height may be {height:g} mm off either way.", height=1e3 * height),
            say("One pass in {many:g} is noted wrongly.", many=1 / LAPSE),
        ]
        if sd == 0 and not gain.uncertain:
            sd = UNKNOWN_SIGNAL
            assumed.append(
                say(
                    "The file gives neither magnets, windings nor gain a tolerance; the"
                    " signal may be {sd:g} % off (standard deviation), as nobody sees into a"
                    " sealed sensor.",
                    sd=100 * sd,
                )
            )
        if noise.source == "assumed":
            assumed.append(say("Noise of {shown} at the output.", shown=noise.shown()))
        sensing, pivot = _only_sensing(machine), None
        if gain.uncertain and _is_measured(machine, "detector.gain"):
            lines = slow_lines(machine)
            pivot = signal(sensing, REFERENCE, *lines[middle_of(lines)])
            assumed.append(
                say(
                    "The file says that its gain was measured. It is taken as learned from"
                    " passes: the sensor's height is in it, in the middle of the crop."
                )
            )
        return cls(
            sensing, sd, filed, gain, threshold, noise, turn, height, pivot, tuple(assumed)
        )  # fmt: skip

    def draws(self, z: Floats) -> SensorDraws:
        """The sensors at (n, 6) points of standard normals."""
        from scipy.special import ndtr

        def log_of(q: Quantity, column: Floats) -> Floats:
            if not q.uncertain:
                return np.zeros(len(column))
            return np.log(np.maximum(q.ppf(ndtr(column)), 1e-9 * q.nominal) / q.nominal)

        threshold = log_of(self.threshold, z[:, 2])
        volts = np.maximum(self.noise.ppf(ndtr(z[:, 5])), 1e-4 * self.threshold.nominal)
        return SensorDraws(
            strength=self.strength_sd * z[:, 0],
            gain=log_of(self.gain, z[:, 1]),
            threshold=threshold,
            height=self.height * (2 * ndtr(z[:, 3]) - 1),
            turn=self.turn.ppf(ndtr(z[:, 4])),
            noise=volts / (self.threshold.nominal * np.exp(threshold)),
        )

    def signal(self, seen: TestPass | PeakRead) -> Signal:
        """What the file's own sensor makes of an observation."""
        return signal(self.machine, seen.piece, seen.x, seen.height, seen.speed)

    def log_ratio(self, one: Signal, draws: SensorDraws) -> Floats:
        """ln(peak / threshold) of one pass for each sensor, (n,)."""
        at_file = self.log_peak(one, draws) - np.log(self.threshold.nominal)
        return np.asarray(at_file + draws.signal - draws.threshold)

    def log_peak(self, one: Signal, draws: SensorDraws) -> Floats:
        """ln(peak) with the file's gain and magnets, at each sensor's height and turn, (n,)."""
        made = one.log_peak(draws.height, draws.turn)
        if self.pivot is not None:
            straight = np.full(1, self.turn.nominal)
            made = made - self.pivot.log_peak(draws.height, straight)
            made = made + self.pivot.log_peak(np.zeros(1), straight)
        return np.asarray(made)

    def catching(self, seen: TestPass, one: Signal, draws: SensorDraws) -> Floats:
        """Chance that each sensor catches a test piece, its place in doubt, (n,)."""
        spread = _spread(one, seen, draws)
        return self.catching_with(one, self.log_ratio(one, draws), spread, draws)

    def catching_balls(
        self, seen: TestPass, one: Signal, draws: SensorDraws, more: Floats
    ) -> Floats:
        """As `catching`, for pieces whose ln(peak) is that much above `seen`'s: (p, n)."""
        ratio = self.log_ratio(one, draws) + more[:, None]
        return self.catching_with(one, ratio, _spread(one, seen, draws), draws)

    def catching_with(
        self, one: Signal, ratio: Floats, spread: Floats, draws: SensorDraws
    ) -> Floats:
        """Chance of catching for ln(peak / threshold) of that mean and spread, (..., n)."""
        made = sum(
            share * one.caught(ratio + knot * spread, draws.noise)
            for knot, share in zip(_KNOTS, _SHARES / _SHARES.sum(), strict=True)
        )
        return np.asarray(np.clip(made, 0.0, 1.0))

    def log_likelihood(
        self, seen: Sequence[tuple[TestPass | PeakRead, Signal]], draws: SensorDraws
    ) -> Floats:
        """Of all passes and peaks together, each with its signal, for each sensor, (n,)."""
        total = np.zeros(len(draws.strength))
        for each, one in seen:
            if isinstance(each, TestPass):
                chance = LAPSE / 2 + (1 - LAPSE) * self.catching(each, one, draws)
                total += np.log(chance if each.caught else 1 - chance)
            else:
                total += self._of_a_peak(each, one, draws)
        return total

    def _of_a_peak(self, seen: PeakRead, one: Signal, draws: SensorDraws) -> Floats:
        coil = seen.at == "coil"
        expected = draws.strength + (
            one.log_peak(draws.height, draws.turn, coil=True) if coil else self.log_peak(one, draws)
        )
        spread = np.hypot(_spread(one, seen, draws), seen.peak_doubt)
        if not coil:
            expected = expected + draws.gain
            noise = draws.noise * self.threshold.nominal * np.exp(draws.threshold)
            spread = np.hypot(spread, noise / seen.peak)
        return np.asarray(-0.5 * ((np.log(seen.peak) - expected) / spread) ** 2 - np.log(spread))


def _spread(one: Signal, seen: TestPass | PeakRead, draws: SensorDraws) -> Floats:
    """Standard deviation of ln(peak) by the doubt of the piece's place and speed, (n,)."""
    up = one.slope(draws.height, draws.turn) * seen.place_doubt
    return np.sqrt(up**2 + (one.across * seen.place_doubt) ** 2 + seen.speed_doubt**2)


def _strength_sd(machine: Machine) -> float:
    """Standard deviation of ln(signal) by the tolerances of magnets, windings and filter."""
    (depth,) = machine.need("a calibration", "feed.crop_depth")
    cut = machine.feed.cut_lengths[0] if machine.feed else 0.01
    strength = Strength.of(
        machine,
        x=_a_place(machine),
        height=max(depth.nominal, 0.0),
        speed=metal_speed(machine, cut),
    )
    kept = [i for i, (path, _) in enumerate(strength.inputs) if path != "detector.gain"]
    if not kept:
        return 0.0
    only = replace(
        strength, inputs=tuple(strength.inputs[i] for i in kept), ends=strength.ends[kept]
    )
    cube = evenly_spread(1024, len(kept))
    values = {path: q.ppf(u) for (path, q), u in zip(only.inputs, cube.T, strict=True)}
    return float(np.log(np.maximum(only.factor(values, 1024), 1e-6)).std())


def _a_place(machine: Machine) -> float:
    """Across the roll, over an assembly: away from the lines where opposed windings cancel."""
    return sensor_of(machine).assemblies[0].centre[0].nominal


def _is_measured(machine: Machine, path: str) -> bool:
    entries = machine.measured.fields if machine.measured is not None else ()
    return any(entry.field == path for entry in entries)


def _only_sensing(machine: Machine) -> Machine:
    """The machine less what its sensor knows nothing of: tables are kept by what is left."""
    return replace(machine, chain=None, circuit=None, checks=None, assumed=(), changed=(), file="")
