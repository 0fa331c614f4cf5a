"""The plunger's way out: spring against a magnet force that fades while the gap opens."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tripmargin.stopping.arrays import (
    Array,
    Quantity,
    in_shape,
    lined_up,
    require_not_negative,
    require_positive,
    rising_root,
)
from tripmargin.stopping.runge_kutta import longer_or_shorter, step

TOLERANCE = 1e-8
"""Allowed error a step, relative to full travel, full speed and full flux."""

MAX_STEPS = 5_000
"""A plunger that needs more counts as stuck, so that nothing hangs. Real ones need about 50; only
drag^2 travel / (mass force) above about 10 000, a plunger set in tar, needs thousands."""


@dataclass(frozen=True, slots=True)
class HoldCircuit:
    """The hold winding and what its current flows through once the relay has let go.

    Attributes
    ----------
    inductance : float or array_like, H
        With the plunger pulled in. An inductance meter on the unplugged winding reads it.
    resistance : float or array_like, ohm
        Of the winding as warm as it is: an ohmmeter on the unplugged winding, and
        `copper_resistance` for other temperatures.
    supply : float or array_like, V
        At the winding's plug, engine running. A voltmeter reads it.
    clamp_voltage, clamp_resistance : float or array_like, V and ohm
        Of the suppression, from `clamp`. Both stand on the part or in the wiring diagram.
    """

    inductance: Quantity
    resistance: Quantity
    supply: Quantity
    clamp_voltage: Quantity
    clamp_resistance: Quantity

    def __post_init__(self) -> None:
        require_positive(inductance=self.inductance, resistance=self.resistance)
        require_not_negative(
            supply=self.supply,
            clamp_voltage=self.clamp_voltage,
            clamp_resistance=self.clamp_resistance,
        )


@dataclass(frozen=True, slots=True)
class PlungerParts:
    """The plunger, its spring and the gap it opens.

    Attributes
    ----------
    mass : float or array_like, kg
        Of the plunger and what moves with it. Kitchen scales read it, part out.
    travel : float or array_like, m
        From pulled in to where the linkage lets the pawls go. A caliper reads it.
    spring_force : float or array_like, N
        With the plunger pulled in. A spring balance on the unpowered plunger reads it.
    spring_rate : float or array_like, N/m
        Two spring balance readings, their difference over the way between them.
    friction : float or array_like, N
        Dry friction: half the difference of the balance's readings, pulling in and letting out.
    damping : float or array_like, N s/m
        Drag in proportion to speed. Hardly to be measured in a yard; take a wide limit.
    gap : float or array_like, m
        Equivalent air gap when seated: opened this far, the winding has half its inductance.
        An inductance meter at two positions of the plunger gives it.
    """

    mass: Quantity
    travel: Quantity
    spring_force: Quantity
    spring_rate: Quantity
    friction: Quantity
    damping: Quantity
    gap: Quantity

    def __post_init__(self) -> None:
        require_positive(mass=self.mass, travel=self.travel, gap=self.gap)
        require_not_negative(
            spring_force=self.spring_force,
            spring_rate=self.spring_rate,
            friction=self.friction,
            damping=self.damping,
        )


class _Flight(NamedTuple):
    """Constants of the motion, each a flat array: forces by mass, flux in units of its start."""

    travel: Array  # m
    drive: Array  # m/s^2, spring less friction, seated
    spring: Array  # 1/s^2
    drag: Array  # 1/s
    pull: Array  # m/s^2, the magnet's at the start
    rate: Array  # 1/s, (R + R1) / L0
    clamp: Array  # 1/s, V0 / flux at the start
    gap: Array  # m

    def only(self, index: NDArray[np.intp] | NDArray[np.bool_]) -> _Flight:
        return _Flight(*(field[index] for field in self))


def plunger_fall(
    circuit: HoldCircuit, parts: PlungerParts, *, motional: bool = True
) -> tuple[Quantity, Quantity]:
    """Time until the plunger starts to move, and from there until it has made its travel.

    Parameters
    ----------
    circuit : HoldCircuit
    parts : PlungerParts
        All fields of both broadcast together.
    motional : bool
        Keep the back-emf of the moving plunger. Without it the current decays as if the
        plunger sat still; this reads faster than the truth, so it is there for comparison only.

    Returns
    -------
    decay_time : float or ndarray, s
        Zero where the current is at or below release from the start; inf where the spring does
        not overcome its friction, so that the plunger never lets go.
    fall_time : float or ndarray, s
        Inf where the plunger never makes its full travel.

    Notes
    -----
    Flux lam = L0 i / (1 + x/a), magnet force lam^2 / (2 L0 a), d lam/dt = -((R + R1) i + V0)
    while current flows; m x'' = F0 - kS x - force - friction - c x'. The plunger lets go when
    force = F0 - friction. With s = integral of (1 + x/a) dt and J = integral of exp(k s) dt,
    k = (R + R1) / L0, the flux is exp(-k s) (lam0 - V0 J): this leaves nothing stiff to
    integrate. Energy and flux of a magnetic circuit with one gap, texts on electromechanics.

    A plunger that comes to rest on its way is held by its friction until the magnet has faded
    further. One whose speed and remaining spring work no longer suffice is stuck: inf. So is one
    that would need more than `MAX_STEPS`.

    Examples
    --------
    >>> circuit = HoldCircuit(inductance=0.16, resistance=19.4148, supply=13.2,
    ...                       clamp_voltage=0.0, clamp_resistance=82.0)
    >>> parts = PlungerParts(mass=0.15, travel=7e-3, spring_force=30.0, spring_rate=800.0,
    ...                      friction=2.5, damping=1.0, gap=0.5e-3)
    >>> decay, fall = plunger_fall(circuit, parts)
    >>> round(decay * 1e3, 4), round(fall * 1e3, 4)
    (0.7804, 9.7071)
    """
    shape, c = lined_up(circuit, parts)
    decay, flight = _let_go(c)
    fall = np.full_like(decay, np.inf)
    able = np.flatnonzero(flight.drive > 0)
    fall[able] = _fly(flight.only(able), motional)
    return in_shape(decay, shape), in_shape(fall, shape)


def _let_go(c: dict[str, Array]) -> tuple[Array, _Flight]:
    """Decay until the magnet holds no more than spring less friction, and the state then."""
    drive = c["spring_force"] - c["friction"]
    resistance = c["resistance"] + c["clamp_resistance"]
    start = c["supply"] / c["resistance"]
    two_la = 2 * c["inductance"] * c["gap"]
    release = np.sqrt(two_la * np.maximum(drive, 0)) / c["inductance"]
    current = np.minimum(start, release)
    offset = c["clamp_voltage"] / resistance
    rate = resistance / c["inductance"]
    with np.errstate(divide="ignore", invalid="ignore"):
        decay = np.log1p((start - current) / (current + offset)) / rate
    decay = np.where(start <= release, 0.0, decay)
    # Below 1e-9 of release the magnet pulls with 1e-18 of the spring: nothing to follow.
    magnetised = current > 1e-9 * release
    flux = np.where(magnetised, c["inductance"] * current, 1.0)
    flight = _Flight(
        travel=c["travel"],
        drive=drive / c["mass"],
        spring=c["spring_rate"] / c["mass"],
        drag=c["damping"] / c["mass"],
        pull=np.where(magnetised, flux**2 / two_la / c["mass"], 0.0),
        rate=rate,
        clamp=np.where(magnetised, c["clamp_voltage"] / flux, 0.0),
        gap=c["gap"],
    )
    return np.where((drive > 0) | (start <= 0), decay, np.inf), flight


def _flux(state: Array, flight: _Flight) -> Array:
    """Flux in units of its start; it stops at zero, where the clamp lets no current back."""
    _, _, s, j = state
    flux: Array = np.maximum(np.exp(-flight.rate * s) * (1 - flight.clamp * j), 0.0)
    return flux


def _slopes(state: Array, flight: _Flight, motional: bool) -> Array:
    """Time derivatives of x, x', s and J."""
    x, speed, s, _ = state
    opening = 1 + x / flight.gap
    pull = flight.pull * _flux(state, flight) ** 2
    if not motional:
        pull = pull / opening**2
        opening = np.ones_like(opening)
    force = flight.drive - flight.spring * x - flight.drag * speed - pull
    force = np.where((speed <= 0) & (force < 0), 0.0, force)  # friction holds, it does not push
    growth = np.exp(np.minimum(flight.rate * s, 60.0))  # beyond, the flux is nil anyway
    return np.stack([speed, force, opening, growth])


def _work_left(state: Array, flight: _Flight) -> Array:
    """Speed's energy at full travel by mass, were there no magnet and no drag from here on."""
    x, speed, *_ = state
    way = flight.travel - x
    mean_force: Array = flight.drive - 0.5 * flight.spring * (flight.travel + x)
    work: Array = 0.5 * speed**2 + way * mean_force
    return work


def _error(error: Array, state: Array, flight: _Flight, full_speed: Array) -> Array:
    """Largest error of a step over what is allowed."""
    _, _, s, _ = state
    flux = _flux(state, flight)
    of_clamp = np.where(flux > 0, np.exp(-flight.rate * s) * flight.clamp * error[3], 0.0)
    parts = [error[0] / flight.travel, error[1] / full_speed, flux * flight.rate * error[2]]
    largest: Array = np.max(np.abs([*parts, of_clamp]), axis=0)
    return largest / TOLERANCE


def _fly(flight: _Flight, motional: bool) -> Array:
    """Fall time of each plunger from rest, seated; inf where it gets stuck."""
    fall = np.full_like(flight.travel, np.inf)
    state = np.zeros((4, flight.travel.size))
    index = np.flatnonzero(_work_left(state, flight) > 0)
    state, flight = state[:, index], flight.only(index)
    full_speed = np.sqrt(2 * _work_left(state, flight))
    h = np.minimum(1e-2 * np.sqrt(2 * flight.travel / flight.drive), 0.1 / flight.rate)
    time = np.zeros_like(h)
    for _ in range(MAX_STEPS):
        if not index.size:
            break
        trial, error = step(partial(_slopes, flight=flight, motional=motional), state, h)
        ratio = _error(error, trial, flight, full_speed)
        good = ratio <= 1
        there = good & (trial[0] >= flight.travel)
        if np.any(there):
            part = flight.only(there)
            fall[index[there]] = time[there] + _landing(state[:, there], h[there], part, motional)
        state = np.where(good, trial, state)
        state[1] = np.maximum(state[1], 0.0)
        time = time + np.where(good, h, 0.0)
        h = longer_or_shorter(h, ratio)
        keep = ~there & (_work_left(state, flight) > 0)
        if not np.all(keep):
            index, time, h, full_speed = (v[keep] for v in (index, time, h, full_speed))
            state, flight = state[:, keep], flight.only(keep)
    return fall


def _landing(state: Array, h: Array, flight: _Flight, motional: bool) -> Array:
    """Length of the part of a step after which the plunger has made its travel."""

    def beyond(part: Array) -> tuple[Array, Array]:
        there, _ = step(partial(_slopes, flight=flight, motional=motional), state, part)
        return there[0] - flight.travel, there[1]

    return rising_root(beyond, guess=h, low=np.zeros_like(h), high=h)
