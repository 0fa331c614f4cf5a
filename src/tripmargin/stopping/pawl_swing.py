"""The pawl's swing: its spring turns it through the clearance and into the ratchet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.stopping.arrays import (
    Array,
    Quantity,
    in_shape,
    lined_up,
    require_not_negative,
    require_positive,
    rising_root,
)


@dataclass(frozen=True, slots=True)
class PawlParts:
    """A pawl, its spring and how deep it must go.

    Attributes
    ----------
    inertia : float or array_like, kg m^2
        About the pawl's pin. Let the pawl hang and swing: m g d (T / 2 pi)^2, with its mass m on
        kitchen scales, the way d from pin to balance point, the time T of one swing to and fro.
    spring_torque : float or array_like, N m
        With the pawl held out. A spring balance at the tip, times the tip's radius.
    spring_rate : float or array_like, N m/rad
        How fast that torque falls as the pawl swings in: two balance readings, tip moved between.
    friction_torque : float or array_like, N m
        Half the difference of the balance's readings moving in and moving out, times the radius.
    damping : float or array_like, N m s/rad
        Drag in proportion to speed. Hardly to be measured in a yard; take a wide limit.
    engagement_depth : float or array_like, m
        How far the tip goes in past the ratchet's tooth tips to catch. A caliper reads it.
    tip_radius : float or array_like, m
        From the pawl's pin to its tip. A tape measure reads it.
    """

    inertia: Quantity
    spring_torque: Quantity
    spring_rate: Quantity
    friction_torque: Quantity
    damping: Quantity
    engagement_depth: Quantity
    tip_radius: Quantity

    def __post_init__(self) -> None:
        require_positive(inertia=self.inertia, tip_radius=self.tip_radius)
        require_not_negative(
            spring_torque=self.spring_torque,
            spring_rate=self.spring_rate,
            friction_torque=self.friction_torque,
            damping=self.damping,
            engagement_depth=self.engagement_depth,
        )


def pawl_swing_time(parts: PawlParts, clearance: Quantity) -> Quantity:
    """Time of a pawl from letting go until its tip is in to the engagement depth.

    Parameters
    ----------
    parts : PawlParts
    clearance : float or array_like, m
        Between the pawl's tip and the ratchet's tooth tips, pawl held out. A feeler gauge reads
        it. Below zero counts as zero.

    Returns
    -------
    float or ndarray, s
        Inf where the spring does not carry the pawl in.

    Raises
    ------
    ValueError
        If the clearance is not a finite number.

    Notes
    -----
    J th'' = T0 - kP th - TF - b th' from rest through th = (clearance + depth) / radius. With
    net torque T = T0 - TF and the roots l of l^2 + (b/J) l + kP/J = 0, z = l t:
    th = (T/J) t^2 (p(z1) - p(z2)) / (z1 - z2), p(z) = (exp(z) - 1) / z; complex z swings, real z
    creeps, and no springs or no drag need no case of their own. Texts on the damped oscillator.

    Examples
    --------
    >>> parts = PawlParts(inertia=4e-4, spring_torque=1.3, spring_rate=2.0, friction_torque=0.12,
    ...                   damping=1e-3, engagement_depth=2e-3, tip_radius=0.06)
    >>> round(pawl_swing_time(parts, 3.5e-3) * 1e3, 4)
    8.0164
    """
    if not np.all(np.isfinite(np.asarray(clearance, dtype=float))):
        raise ValueError(
            say("clearance must be a finite number, got {clearance!r}.", clearance=clearance)
        )
    shape, c = lined_up(parts, clearance=clearance)
    angle = (np.maximum(c["clearance"], 0) + c["engagement_depth"]) / c["tip_radius"]
    push = (c["spring_torque"] - c["friction_torque"]) / c["inertia"]
    spring, drag = c["spring_rate"] / c["inertia"], c["damping"] / c["inertia"]
    time = np.where(angle > 0, np.inf, 0.0)
    peak_time, peak_angle = _first_peak(push, spring, drag)
    moves = np.flatnonzero((angle > 0) & (push > 0) & (angle <= peak_angle))
    push, spring, drag, angle = push[moves], spring[moves], drag[moves], angle[moves]

    def beyond(t: Array) -> tuple[Array, Array]:
        turned, speed = _swing(t, spring, drag)
        return push * turned - angle, push * speed

    unhindered = np.sqrt(2 * angle / push)  # spring and drag only make it later
    time[moves] = rising_root(beyond, guess=unhindered, low=unhindered, high=peak_time[moves])
    return in_shape(time, shape)


def _first_peak(push: Array, spring: Array, drag: Array) -> tuple[Array, Array]:
    """When the pawl first turns back and how far it is then; at inf where it only creeps."""
    swings = spring > 0.25 * drag**2
    pace = np.sqrt(np.where(swings, spring - 0.25 * drag**2, 1.0))
    time = np.where(swings, np.pi / pace, np.inf)
    overshoot = np.where(swings, np.exp(-0.5 * drag * np.pi / pace), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        rest = np.where(spring > 0, push / spring, np.inf)
    return time, rest * (1 + overshoot)


def _swing(t: Array, spring: Array, drag: Array) -> tuple[Array, Array]:
    """Angle and speed under a unit push from rest: g'' + drag g' + spring g = 1."""
    half = 0.5 * drag
    half_gap = np.sqrt((half**2 - spring).astype(complex))
    # Equal roots: move them apart by 1e-5 of a radian, an error of 1e-11 as it enters squared.
    near = np.abs(half_gap * t) < 1e-5
    half_gap = np.where(near, 1e-5 / t, half_gap)
    fast = -(half + half_gap) * t
    with np.errstate(divide="ignore", invalid="ignore"):
        slow = np.where(near, (half_gap - half) * t, -spring * t / (half + half_gap))
    apart = 2 * half_gap * t
    turned = t**2 * (_mean_exponential(slow) - _mean_exponential(fast)) / apart
    speed = t * (np.exp(slow) - np.exp(fast)) / apart
    return turned.real, speed.real


def _mean_exponential(z: Array) -> Array:
    """(exp(z) - 1) / z, 1 at z = 0: the mean of exp over the way from 0 to z."""
    at_zero = z == 0
    return np.where(at_zero, 1.0, np.expm1(z) / np.where(at_zero, 1.0, z))
