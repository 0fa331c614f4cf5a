"""Coming to rest: the caught rolls wind up their drive until the slip clutch lets go."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.stopping.arrays import (
    Quantity,
    in_shape,
    lined_up,
    require_not_negative,
    require_positive,
)


@dataclass(frozen=True, slots=True)
class WindupParts:
    """What turns with the feed rolls and what brings it to rest.

    Attributes
    ----------
    inertia : float or array_like, kg m^2
        Of all that still turns after the catch, as felt at the roll. Add up the rolls from mass
        and radius (half the mass times the radius squared for a solid one).
    stiffness : float or array_like, N m/rad
        Of the drive between roll and ratchet, pawls in. Torque wrench on the roll's shaft, angle
        read with a pointer.
    slip_torque : float or array_like, N m
        At which the slip clutch lets go, as felt at the roll; inf where there is none. A torque
        wrench reads it.
    drag_torque : float or array_like, N m
        Of the crop and the bearings on the roll. A torque wrench turning the empty roll reads
        the bearings' part; the crop's needs a wide limit.
    """

    inertia: Quantity
    stiffness: Quantity
    slip_torque: Quantity
    drag_torque: Quantity

    def __post_init__(self) -> None:
        require_positive(inertia=self.inertia, stiffness=self.stiffness)
        require_not_negative(drag_torque=self.drag_torque)
        if not np.all(np.asarray(self.slip_torque, dtype=float) > 0):
            raise ValueError(
                say(
                    "slip_torque must be above zero (inf: none), got {slip_torque!r}.",
                    slip_torque=self.slip_torque,
                )
            )


def windup_angle_and_time(
    parts: WindupParts, roll_speed: Quantity, roll_radius: Quantity
) -> tuple[Quantity, Quantity]:
    """Angle that the roll still turns after the pawls have caught, and how long it takes.

    Parameters
    ----------
    parts : WindupParts
    roll_speed : float or array_like, m/s
        Surface speed of the roll, from cut length, knives and cutterhead speed.
    roll_radius : float or array_like, m
        A tape measure round the roll, over the flutes, divided by 2 pi.

    Returns
    -------
    angle : float or ndarray, rad
    time : float or ndarray, s

    Raises
    ------
    ValueError
        If the speed is negative or the radius not above zero.

    Notes
    -----
    J w' = -min(k twist, slip torque) - drag from w0 = v / r to rest: part of a harmonic swing
    about twist = -drag / k while the drive winds up, then even deceleration while the clutch
    slips. Texts on the harmonic oscillator.

    Examples
    --------
    >>> parts = WindupParts(inertia=0.3, stiffness=12e3, slip_torque=900.0, drag_torque=60.0)
    >>> angle, time = windup_angle_and_time(parts, roll_speed=1.615, roll_radius=0.075)
    >>> round(angle, 5), round(time * 1e3, 4)
    (0.10761, 8.4643)
    """
    require_not_negative(roll_speed=roll_speed)
    require_positive(roll_radius=roll_radius)
    shape, c = lined_up(parts, speed=roll_speed, radius=roll_radius)
    inertia, stiffness = c["inertia"], c["stiffness"]
    slip, drag = c["slip_torque"], c["drag_torque"]
    turning = c["speed"] / c["radius"]
    pace = np.sqrt(stiffness / inertia)

    energy = inertia * turning**2  # twice the rolls' energy
    root = drag + np.sqrt(drag**2 + stiffness * energy)
    full = np.where(root > 0, energy / np.where(root > 0, root, 1.0), 0.0)
    slips = stiffness * full > slip
    twist = np.where(slips, slip / stiffness, full)
    left = np.where(slips, energy - twist * (stiffness * twist + 2 * drag), 0.0)
    still_turning = np.sqrt(np.maximum(left, 0.0) / inertia)

    offset = drag / stiffness
    phase_at_catch = np.arctan2(pace * offset, turning)
    phase_at_slip = np.arctan2(pace * (offset + twist), still_turning)
    winding = (phase_at_slip - phase_at_catch) / pace
    braking = (slip + drag) / inertia
    angle = twist + still_turning**2 / (2 * braking)
    return in_shape(angle, shape), in_shape(winding + still_turning / braking, shape)
