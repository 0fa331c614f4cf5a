"""How likely the metal is to travel too far: every tolerance of the stop at once, at one cut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.draws import draw, nodes
from tripmargin.machine import Machine
from tripmargin.stopping.densities import Density, density, gathered, latest_catch
from tripmargin.stopping.feed import feed_speed, tooth_pitch
from tripmargin.stopping.stages import pawls_of, rest_angle, serial_stages, swing_stage

Array = NDArray[np.float64]
_ANGLE_DRAWS = 1 << 12
_GRID = 4000  # steps over the spread of all stages
_STEPS = (5e-7, 5e-5)  # s, finest and coarsest


@dataclass(frozen=True, slots=True)
class StopDensities:
    """What the stop times owe to no speed: the stages before the pawls, and each pawl's swing."""

    machine: Machine
    step: float
    before: Density
    swings: tuple[Density, ...]

    @classmethod
    def of(cls, machine: Machine) -> StopDensities:
        """The densities of one machine, for any cut.

        Raises
        ------
        NotKnownError
            If the machine file lacks what the stop needs.
        """
        serial = serial_stages(machine)
        swings = [swing_stage(machine, pawl) for pawl in pawls_of(machine)]
        spread = sum(h - lo for m in serial for lo, h in m.limits())
        spread += max(h - lo for m in swings for lo, h in m.limits())
        step = float(np.clip(spread / _GRID, *_STEPS))
        before = Density(0.0, step, np.ones(1))
        for model in serial:
            before = before + density(model, step)
        return cls(machine, step, before, tuple(density(m, step) for m in swings))


@dataclass(frozen=True, slots=True)
class TravelChances:
    """The stop at one cut, as chances.

    Attributes
    ----------
    roll_speeds, weights : ndarray, (k,)
        Quadrature over the cutterhead's speed, m/s of roll surface.
    times : tuple of Density
        At each: travel over roll surface speed, s: the time to the catch and the rest's way.
    nominal_speed : float, m/s
        Of the metal, every input at its middle.
    """

    machine: Machine
    roll_speeds: Array
    weights: Array
    times: tuple[Density, ...]
    nominal_speed: float

    def late(self, crossing_y: ArrayLike, *, drift: float = 0.0, fine: bool = True) -> Array:
        """Probability that the metal reaches the shear bar before the rolls stand.

        Parameters
        ----------
        crossing_y : array_like, m
            Where the piece crosses the threshold, at the nominal speed.
        drift : float, s
            How much later it crosses for each m/s above the nominal speed: the filter's delay.
        fine : bool
            Many quadrature points, for small probabilities; few, for the map.

        Returns
        -------
        ndarray, shape of `crossing_y`
        """
        y = np.asarray(crossing_y, dtype=float)
        distance, slip = self.machine.need("the race", "feed.sensor_to_shear_bar", "feed.slip")
        bars, bar_weights = nodes(distance, 12 if fine else 5)
        slips, slip_weights = nodes(slip, 12 if fine else 5)
        found = np.zeros(y.shape)
        for speed, weight, time in zip(self.roll_speeds, self.weights, self.times, strict=True):
            for one, slip_weight in zip(slips, slip_weights, strict=True):
                metal = speed * (1 - one)
                room = bars - y[..., None] - drift * (metal - self.nominal_speed)
                chance = time.exceeds(room / metal) @ bar_weights
                found += weight * slip_weight * chance
        return np.minimum(found, 1.0)

    def travel(self) -> tuple[float, float]:
        """Mean and standard deviation of the metal's travel, m."""
        (slip,) = self.machine.need("the race", "feed.slip")
        slips, slip_weights = nodes(slip, 7)
        mean = square = 0.0
        for speed, weight, time in zip(self.roll_speeds, self.weights, self.times, strict=True):
            for one, slip_weight in zip(slips, slip_weights, strict=True):
                metal = speed * (1 - one)
                mean += weight * slip_weight * metal * time.mean
                square += weight * slip_weight * metal**2 * (time.sd**2 + time.mean**2)
        return mean, float(np.sqrt(max(square - mean**2, 0.0)))


def travel_chances(
    machine: Machine,
    cut_length: float,
    *,
    densities: StopDensities | None = None,
    fine: bool = True,
) -> TravelChances:
    """The chances of every travel at one cut.

    Parameters
    ----------
    machine : Machine
    cut_length : float, m
    densities : StopDensities, optional
        Those of this machine, to share over many cuts.
    fine : bool
        Many quadrature points over the cutterhead's speed, or few.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the stop needs.

    Notes
    -----
    MODEL.md, Stopping: travel = (1 - slip) (v_roll x time to the catch + angle x radius). A wait
    for a tooth is a length of roll surface, whatever the speed.
    """
    made = densities or StopDensities.of(machine)
    nominal = feed_speed(machine, cut_length)
    speed, diameter, slip = machine.need(
        "the race", "feed.cutterhead_speed", "feed.roll_diameter", "feed.slip"
    )
    turning, weights = nodes(speed, 9 if fine else 3)
    roll_speeds = nominal * turning / speed.nominal
    pitches = [tooth_pitch(machine, pawl.name) for pawl in pawls_of(machine)]
    times = []
    for v in roll_speeds:
        catch = latest_catch(made.swings, tuple(p / v for p in pitches))
        model = rest_angle(machine, float(v))
        values, shares = draw(model.inputs, _ANGLE_DRAWS, widened=1.5)
        way = np.broadcast_to(model.at(values)[0], shares.shape) * diameter.nominal / 2
        times.append(made.before + catch + gathered(np.asarray(way / v), shares, made.step))
    return TravelChances(machine, roll_speeds, weights, tuple(times), nominal * (1 - slip.nominal))
