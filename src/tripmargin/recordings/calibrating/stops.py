"""What is not known of a machine's stop, and what timed stops and found metal say of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import evenly_spread
from tripmargin.ground.languages import later, say
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.recordings.calibrating.observations import MetalFound, StopMeasured
from tripmargin.recordings.recording import RecordingError
from tripmargin.stopping import feed_speed
from tripmargin.stopping.feed import tooth_pitch
from tripmargin.stopping.stages import pawls_of, rest_angle, serial_stages, swing_stage

Floats = NDArray[np.float64]
NEEDS = later("a calibration of the stop")
_WAITS = 128  # points over the teeth's phases
_TWO_SIDES = 1.959964  # of a normal distribution: 95 %
_FEED = ("feed.cutterhead_speed", "feed.slip", "feed.sensor_to_shear_bar")


@dataclass(frozen=True, slots=True)
class StopTerms:
    """The stop of many machines at one cut, (n,) each but where said.

    Attributes
    ----------
    before
        Until the pawls are let go, s.
    swings : ndarray, (n, pawls), s
    speed
        Of the rolls' surface, m/s.
    pitches : ndarray, (pawls,), m
        Of the rolls' surface to one tooth.
    rest
        Way of the rolls' surface from the catch to rest, m.
    slip
        Of the crop behind the rolls.
    """

    before: Floats
    swings: Floats
    speed: Floats
    pitches: Floats
    rest: Floats
    slip: Floats

    def middle(self) -> Floats:
        """Stop time with every tooth waited for half its pitch, s: what a change is judged by."""
        waits = self.pitches / 2 / self.speed[:, None]
        last = (self.swings + waits).max(axis=1)
        return np.asarray(self.before + last + 2 * self.rest / self.speed)

    def catch(self, phases: Floats) -> Floats:
        """Time until the last pawl has caught, s, (n, waits); phases (waits, pawls), 0 to 1."""
        waits = phases[None] * (self.pitches / self.speed[:, None])[:, None]
        return np.asarray(self.before[:, None] + (self.swings[:, None] + waits).max(axis=2))


@dataclass(frozen=True, slots=True)
class StopDoubt:
    """What is not known of a machine's stop before anything is measured.

    Attributes
    ----------
    machine
        As it is filed.
    inputs
        Path and quantity of all that may be off, one parameter each.
    """

    machine: Machine
    inputs: tuple[tuple[str, Quantity], ...]

    @property
    def dimensions(self) -> int:
        """How many parameters."""
        return len(self.inputs)

    @classmethod
    def of(cls, machine: Machine) -> StopDoubt:
        """A machine's.

        Raises
        ------
        NotKnownError
            If the machine file lacks what the stop needs.
        RecordingError
            If nothing of it has a tolerance.
        """
        models = (
            *serial_stages(machine),
            *(swing_stage(machine, pawl) for pawl in pawls_of(machine)),
            rest_angle(machine, 1.0),
        )
        found = {path: q for model in models for path, q in model.uncertain}
        for path, q in zip(_FEED, machine.need(say(NEEDS), *_FEED), strict=True):
            if q.uncertain:
                found[path] = q
        if not found:
            raise RecordingError(
                say(
                    "The file gives nothing of the stop a tolerance, so a timed stop can"
                    ' teach nothing. Write how far off its values may be, such as "7 ms +- 2'
                    ' ms".'
                )
            )
        return cls(machine, tuple(found.items()))

    def values(self, z: Floats) -> dict[str, Floats]:
        """Values by path at (n, d) points of standard normals, SI."""
        from scipy.special import ndtr

        return {
            path: q.ppf(ndtr(column)) for (path, q), column in zip(self.inputs, z.T, strict=True)
        }

    def terms(self, values: dict[str, Floats], cut_length: float) -> StopTerms:
        """The stop of the machines with those values, at one cut."""
        n = len(next(iter(values.values())))
        machine = self.machine

        def full(x: Any) -> Floats:
            return np.broadcast_to(np.asarray(x, dtype=float), (n,))

        before = sum(
            (full(time) for model in serial_stages(machine) for time in model.at(values)),
            np.zeros(n),
        )
        pawls = pawls_of(machine)
        swings = [full(swing_stage(machine, pawl).at(values)[0]) for pawl in pawls]
        head, slip = machine.need(say(NEEDS), *_FEED[:2])
        nominal = feed_speed(machine, cut_length)
        speed = full(nominal * _of(values, _FEED[0], head) / head.nominal)
        (diameter,) = machine.need(say(NEEDS), "feed.roll_diameter")
        angle = full(rest_angle(machine, nominal).at(values)[0])
        return StopTerms(
            before=np.asarray(before),
            swings=np.stack(swings, axis=1),
            speed=speed,
            pitches=np.array([tooth_pitch(machine, pawl.name) for pawl in pawls]),
            rest=angle * diameter.nominal / 2,
            slip=full(_of(values, _FEED[1], slip)),
        )

    def log_likelihood(
        self,
        seen: Sequence[StopMeasured | MetalFound],
        z: Floats,
        crossings: Sequence[tuple[float, float] | None],
    ) -> Floats:
        """Of all timed stops and found metal together, (n,).

        Parameters
        ----------
        seen : sequence
        z : ndarray, (n, d)
        crossings : sequence of (mean, sd) or None
            For each piece of found metal where it was when the threshold was reached, m.
        """
        values = self.values(z)
        total = np.zeros(len(z))
        at_cut: dict[float, tuple[StopTerms, Floats]] = {}
        for each, crossing in zip(seen, crossings, strict=True):
            if each.cut_length not in at_cut:
                terms = self.terms(values, each.cut_length)
                phases = evenly_spread(_WAITS, len(terms.pitches))
                at_cut[each.cut_length] = terms, terms.catch(phases)
            terms, catch = at_cut[each.cut_length]
            if isinstance(each, StopMeasured):
                expected = catch + (2 * terms.rest / terms.speed)[:, None]
                total += _log_mean(each.value - expected, _sd_of(each))
                continue
            assert crossing is not None
            way = catch * terms.speed[:, None] + terms.rest[:, None]
            travel = (1 - terms.slip)[:, None] * way
            (bar,) = self.machine.need(say(NEEDS), _FEED[2])
            there = np.broadcast_to(_of(values, _FEED[2], bar), (len(z),))
            left = there[:, None] - crossing[0] - travel
            total += _log_mean(each.before_bar - left, float(np.hypot(each.doubt, crossing[1])))
        return total


def _of(values: dict[str, Floats], path: str, q: Quantity) -> Floats:
    return np.asarray(values[path]) if path in values else np.asarray(q.nominal)


def _sd_of(seen: StopMeasured) -> float:
    return (seen.high - seen.low) / (2 * _TWO_SIDES)


def _log_mean(away: Floats, sd: float) -> Floats:
    """Logarithm of the mean density over the teeth's phases, (n,); `away` is (n, waits).

    The phases stand a step apart; each point stands for its step, so that a sharp reading does not
    fall between two.
    """
    step = (away.max(axis=1) - away.min(axis=1)) / away.shape[1]
    wide = np.hypot(sd, step / 2)[:, None]
    logs = -0.5 * (away / wide) ** 2 - np.log(wide)
    top = logs.max(axis=1)
    return np.asarray(top + np.log(np.exp(logs - top[:, None]).mean(axis=1)))
