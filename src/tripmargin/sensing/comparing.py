"""What is invisible, and why: the same ball in each material, and the sensor upside down."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np

from tripmargin.ground.languages import later, say
from tripmargin.ground.quantities import Quantity
from tripmargin.ground.tables import materials
from tripmargin.machine import Machine
from tripmargin.sensing.detector import Filter, output_only, settling_time
from tripmargin.sensing.lines import REACH, grid, line_fields
from tripmargin.sensing.passing import by_eddy_currents, flux_linkage, peaks
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.reaching import reach
from tripmargin.sensing.sensor import sensor_of, sources

_BALL = 0.02  # m
_STEP = 1e-3  # m


@dataclass(frozen=True, slots=True)
class MaterialSignal:
    """The signal of one ball in one material.

    Attributes
    ----------
    peak : float, V, at the amplifier's output
    of_threshold, of_steel : float
        The same over the threshold, and over that of a steel ball.
    by_eddy_currents : bool
        Seen by the currents that the moving field drives in it; else by its permeability.
    """

    material: str
    diameter: float
    peak: float
    of_threshold: float
    of_steel: float
    by_eddy_currents: bool

    @property
    def why(self) -> str:
        """Why it is seen or not, in one plain sentence."""
        return say(materials()[self.material].because)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "material": self.material,
            "diameter_m": self.diameter,
            "peak_V": self.peak,
            "of_threshold": self.of_threshold,
            "of_steel": self.of_steel,
            "by_eddy_currents": self.by_eddy_currents,
            "why": self.why,
        }


def material_signals(
    machine: Machine, *, speed: float, x: float, height: float, diameter: float = _BALL
) -> tuple[MaterialSignal, ...]:
    """The same ball in every material of the table, at one place; strongest first.

    Parameters
    ----------
    machine : Machine
    speed : float, m/s
    x, height : float, m
        Place of the ball's centre across the roll, and above it.
    diameter : float, m

    Raises
    ------
    NotKnownError
        If the machine file lacks what a pass needs.

    Examples
    --------
    >>> import tripmargin
    >>> machine = tripmargin.load_machine("curlew")
    >>> rows = {r.material: r for r in material_signals(machine, speed=2.0, x=0.15, height=0.03)}
    >>> rows["aluminium"].of_steel < 0.05 < rows["cast iron"].of_steel
    True
    """
    roll, threshold = machine.need(
        later("what is invisible"), "feed.roll_diameter", "detector.threshold"
    )
    sensor, filter_ = sensor_of(machine), Filter.of(machine)
    on = grid(step=_STEP, behind=REACH + settling_time(filter_) * speed, points=161)
    angle = 0.0 if sensor.rotation is None else sensor.rotation.nominal
    where = np.array([x]), np.array([roll.nominal / 2 + height])
    fields = line_fields(sources(sensor), angle, *where, on, np.zeros(3))

    def peak(piece: Piece) -> float:
        flux = flux_linkage(piece, *fields, on, speed)
        return float(peaks(output_only(flux, on.step / speed, filter_)[None])[0])

    steel = peak(Piece.ball(diameter))
    made = []
    for row in materials().values():
        ball = Piece.ball(diameter, row.name)
        top = peak(ball) if ball.relative_permeability != 1 or ball.conductivity > 0 else 0.0
        made.append(
            MaterialSignal(
                row.name,
                diameter,
                top,
                top / threshold.nominal,
                top / steel if steel > 0 else 0.0,
                by_eddy_currents(ball),
            )
        )
    return tuple(sorted(made, key=lambda one: -one.peak))


def upside_down(machine: Machine, *, speed: float) -> float:
    """Smallest ball seen anywhere with the sensor turned by 180 degrees, m; infinite where none.

    A sensor left upside down after a repair is a real mistake (common practice, no source).
    """
    turn = machine.get("sensor.rotation")
    turned = pi + (0.0 if turn is None else turn.nominal)
    if turned > 2 * pi:
        turned -= 2 * pi
    other = machine.with_settings({"sensor.rotation": Quantity.exact(turned, "angle")})
    seen = reach(other, speed=speed, heights=[max(machine.get("feed.crop_depth").low, 0.0)])
    return float(seen.smallest_ball.min())
