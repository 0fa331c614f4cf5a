"""How likely the metal is to travel too far: every tolerance of the stop at once, at one cut."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.draws import nodes, worse_nodes
from tripmargin.ground.languages import later
from tripmargin.machine import Machine
from tripmargin.stopping.densities import (
    Density,
    Followed,
    draws_of,
    gathered,
    latest_catch,
    log_odds,
)
from tripmargin.stopping.feed import feed_speed, tooth_pitch
from tripmargin.stopping.stages import (
    StageModel,
    pawls_of,
    rest_angle,
    serial_stages,
    swing_stage,
)

Array = NDArray[np.float64]
_ANGLE_DRAWS = 1 << 12
_GRID = 4000  # steps over the spread of all stages
_STEPS = (5e-7, 5e-5)  # s, finest and coarsest
_WAYS = 500  # ways at which the chance of more is kept
_CHANCES = 1 / (1 + np.exp(np.linspace(-32.0, 32.0, 641)))  # even in log odds, down to 1e-14


@dataclass(frozen=True, slots=True)
class StopDensities:
    """What the stop times owe to no speed: the stages before the pawls, and each pawl's swing.

    `rest` holds draws of the inputs of coming to rest, and their weights.
    """

    machine: Machine
    step: float
    before: Density
    swings: tuple[Density, ...]
    rest: tuple[dict[str, Array], Array]

    @classmethod
    def of(cls, machine: Machine) -> StopDensities:
        """The densities of one machine, for any cut.

        Raises
        ------
        NotKnownError
            If the machine file lacks what the stop needs.
        """
        return cls.added_up(machine, Followed.whole)

    @classmethod
    def added_up(cls, machine: Machine, follow: Callable[[StageModel], Followed]) -> StopDensities:
        """As `of`, each stage followed by `follow`: with fewer draws, or remembered."""
        serial = [follow(model) for model in serial_stages(machine)]
        swings = [follow(swing_stage(machine, pawl)) for pawl in pawls_of(machine)]
        ends = [end for stage in serial for end in stage.limits]
        ends.append(max((stage.limits[0] for stage in swings), key=lambda end: end[1] - end[0]))
        # A part that may stick has no greatest time; the coarsest step serves the rest of it.
        finite = all(np.isfinite(high) for _, high in ends)
        spread = sum(high - low for low, high in ends) if finite else np.inf
        step = float(np.clip(spread / _GRID, *_STEPS))
        before = Density(0.0, step, np.ones(1))
        for stage in serial:
            before = before + stage.density(step)
        # Which end of an input makes the way to rest longer does not depend on the speed.
        rest = draws_of(rest_angle(machine, 1.0), _ANGLE_DRAWS)
        return cls(machine, step, before, tuple(stage.density(step) for stage in swings), rest)


@dataclass(frozen=True, slots=True)
class TravelChances:
    """The stop at one cut, as chances.

    Attributes
    ----------
    roll_speeds, weights : ndarray, (k,)
        Quadrature over the cutterhead's speed, m/s of roll surface.
    times : tuple of Density
        At each: travel over roll surface speed, s: the time to the catch and the rest's way.
    nominal_speed, middle_roll_speed : float, m/s
        Of the metal and of the rolls' surface, every input at its middle.
    """

    machine: Machine
    roll_speeds: Array
    weights: Array
    times: tuple[Density, ...]
    nominal_speed: float
    middle_roll_speed: float

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
        never = self.times[0].never
        if never >= 1.0:
            return np.ones(y.shape)
        (distance,) = self.machine.need(later("the race"), "feed.sensor_to_shear_bar")
        bars, weights = worse_nodes(distance, 48 if fine else 8, worse="low")
        ways, beyond = self._beyond(drift, fine=fine)
        room = bars - y[..., None]
        # Far out in the tail the log odds are the nearly straight ones.
        chance = 1 / (1 + np.exp(-np.interp(room, ways, log_odds(beyond))))
        chance = np.where(room > ways[-1], 0.0, np.where(room < ways[0], 1.0, chance)) @ weights
        return np.asarray(np.minimum(never + (1 - never) * chance, 1.0))

    def _beyond(self, drift: float, *, fine: bool) -> tuple[Array, Array]:
        """Chance that the metal goes further than each of some ways, m, if the rolls stop at all.

        The crossing's drift with the speed is counted as way.
        """
        speed, slip = self.machine.need(later("the race"), "feed.cutterhead_speed", "feed.slip")
        turning, shares = worse_nodes(speed, 48 if fine else 12, worse="high")
        slips, slip_shares = worse_nodes(slip, 48 if fine else 8, worse="low")
        speeds = self.middle_roll_speed * turning / speed.nominal
        keep = 1 - slips
        # On (speeds, slips, chances): how far the metal goes.
        ways = keep[:, None] * _between(speeds, self.roll_speeds, self._surface_ways())[:, None, :]
        ways += drift * (np.multiply.outer(speeds, keep) - self.nominal_speed)[..., None]
        low, high = float(ways.min()), float(ways.max())
        at = high - (high - low) * np.linspace(1.0, 0.0, _WAYS) ** 2
        found = np.zeros(_WAYS)
        for lines, share in zip(ways, shares, strict=True):
            for line, slip_share in zip(lines, slip_shares, strict=True):
                found += share * slip_share * np.interp(at, line, _CHANCES, left=1.0, right=0.0)
        return at, found

    def _surface_ways(self) -> Array:
        """Ways of the rolls' surface exceeded with each of `_CHANCES`, (speeds, chances)."""
        pairs = zip(self.roll_speeds, self.times, strict=True)
        return np.array([speed * time.later_than(_CHANCES) for speed, time in pairs])

    def travel(self) -> tuple[float, float]:
        """Mean and standard deviation of the metal's travel, m; infinite where a part may stick."""
        if any(time.never > 0 for time in self.times):
            return float("inf"), float("inf")
        (slip,) = self.machine.need(later("the race"), "feed.slip")
        slips, slip_weights = nodes(slip, 7)
        mean = square = 0.0
        for speed, weight, time in zip(self.roll_speeds, self.weights, self.times, strict=True):
            middle = time.mean
            square_time = time.sd**2 + middle**2
            for one, slip_weight in zip(slips, slip_weights, strict=True):
                metal = speed * (1 - one)
                mean += weight * slip_weight * metal * middle
                square += weight * slip_weight * metal**2 * square_time
        return mean, float(np.sqrt(max(square - mean**2, 0.0)))


def _between(targets: Array, speeds: Array, ways: Array) -> Array:
    """Ways (k, l) at `speeds` as ways at `targets`: straight lines, on beyond the outer speeds."""
    if len(speeds) == 1:
        return np.broadcast_to(ways, (len(targets), ways.shape[1]))
    below = np.clip(np.searchsorted(speeds, targets) - 1, 0, len(speeds) - 2)
    share = ((targets - speeds[below]) / (speeds[below + 1] - speeds[below]))[:, None]
    return np.asarray((1 - share) * ways[below] + share * ways[below + 1])


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
    Models page, Stopping: travel = (1 - slip) (v_roll x time to the catch + angle x radius). A wait
    for a tooth is a length of roll surface, whatever the speed.
    """
    made = densities or StopDensities.of(machine)
    nominal = feed_speed(machine, cut_length)
    speed, diameter, slip = machine.need(
        later("the race"), "feed.cutterhead_speed", "feed.roll_diameter", "feed.slip"
    )
    turning, weights = nodes(speed, 9 if fine else 3)
    roll_speeds = nominal * turning / speed.nominal
    pitches = [tooth_pitch(machine, pawl.name) for pawl in pawls_of(machine)]
    times = []
    for v in roll_speeds:
        catch = latest_catch(made.swings, tuple(p / v for p in pitches))
        model = rest_angle(machine, float(v))
        values, shares = made.rest
        way = np.broadcast_to(model.at(values)[0], shares.shape) * diameter.nominal / 2
        times.append(made.before + catch + gathered(np.asarray(way / v), shares, made.step))
    metal = nominal * (1 - slip.nominal)
    return TravelChances(machine, roll_speeds, weights, tuple(times), metal, nominal)
