"""What stands beside the reach map: what is invisible and why, and the sensor upside down."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, isfinite
from typing import TYPE_CHECKING, Any

from tripmargin.cli.tables import aligned, folded

if TYPE_CHECKING:
    from tripmargin.machine import Machine
    from tripmargin.pictures import Section
    from tripmargin.sensing import MaterialSignal, Reach

_TITLE = "What is invisible, and why"
_HEADERS = ("material", "of the threshold", "of steel")


@dataclass(frozen=True, slots=True)
class Beside:
    """The same ball in every material, and the smallest one that an upside-down sensor sees.

    Attributes
    ----------
    materials : tuple of MaterialSignal, strongest first
    x, height : float, m
        Where they were compared: the strongest place at mid height.
    upside_down : float, m
        Smallest ball seen anywhere with the sensor turned by half a turn; infinite where none is.
    turned : bool
        Whether the file itself says that the sensor is upside down.
    """

    materials: tuple[MaterialSignal, ...]
    x: float
    height: float
    upside_down: float
    turned: bool

    @classmethod
    def of(cls, machine: Machine, seen: Reach) -> Beside:
        """Computed at the speed of a reach."""
        from tripmargin import sensing

        turn = machine.get("sensor.rotation")
        middle = (seen.heights[0] + seen.heights[-1]) / 2
        row = int(abs(seen.heights - middle).argmin())
        x = float(seen.places[int(seen.smallest_ball[row].argmin())])
        height = float(seen.heights[row])
        return cls(
            sensing.material_signals(machine, speed=seen.speed, x=x, height=height),
            x,
            height,
            sensing.upside_down(machine, speed=seen.speed),
            cos(0.0 if turn is None else turn.nominal) < 0,
        )

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI; the size of the ball is null where none is seen."""
        return {"materials": self.materials, "half_turn_smallest_ball_m": self.upside_down}

    def lines(self, us: bool) -> list[str]:
        """For a terminal."""
        table = aligned(_HEADERS, [self._row(one) for one in self.materials])
        lines = ["", f"{_TITLE}:", folded(self._where(us), first="  "), *table]
        invisible = [one for one in self.materials if one.of_threshold < 1.0]
        lines += [folded(f"{one.material}: {one.why}", first="  - ") for one in invisible]
        return [*lines, "", folded(self._upside_down_words(us))]

    def sections(self, us: bool) -> tuple[Section, ...]:
        """For a page."""
        from tripmargin.pictures import Section

        title = "A sensor upside down" if self.turned else "A sensor left upside down"
        return (
            Section(_TITLE, [self._where(us)], (_HEADERS, [self._row(m) for m in self.materials])),
            # Below the table, not in it: in a column of a phone's page each would be very tall.
            Section("Why", [f"{one.material}: {one.why}" for one in self.materials]),
            Section(title, [self._upside_down_words(us)]),
        )

    def _where(self, us: bool) -> str:
        from tripmargin.pictures.words import length

        return (
            f"A {length(self.materials[0].diameter, us)} ball in each material, at the strongest"
            f" place at mid height ({length(self.x, us)} from the roll's middle,"
            f" {length(self.height, us)} above the roll). Below 1 of the threshold it is not seen."
        )

    @staticmethod
    def _row(one: MaterialSignal) -> tuple[str, str, str]:
        from tripmargin.ground.units import percent
        from tripmargin.pictures.words import plain_number

        of_steel = percent(one.of_steel) if one.of_steel <= 1 else f"{100 * one.of_steel:.4g} %"
        return one.material, f"{plain_number(one.of_threshold, 2)} x", of_steel

    def _upside_down_words(self, us: bool) -> str:
        from tripmargin.pictures.words import length

        left = "Left upside down after a repair, the sensor"
        if self.turned:
            left = "The file says that the sensor is upside down. Upright, it"
        if not isfinite(self.upside_down):
            return f"{left} would see no ball at all, of any size up to the roll's width."
        return f"{left} would see nothing smaller than a {length(self.upside_down, us)} ball."
