"""What stands beside the reach map: what is invisible and why, and the sensor upside down."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, isfinite
from typing import TYPE_CHECKING, Any

from tripmargin.cli.tables import aligned, folded
from tripmargin.ground.languages import later, numeral, say
from tripmargin.ground.tables.table_words import MATERIAL_WORDS

if TYPE_CHECKING:
    from tripmargin.machine import Machine
    from tripmargin.pictures import Section
    from tripmargin.sensing import MaterialSignal, Reach

_TITLE = later("What is invisible, and why")
_HEADERS = (later("material"), later("of the threshold"), later("of steel"))


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
        table = aligned(_headers(), [self._row(one) for one in self.materials])
        lines = ["", f"{say(_TITLE)}:", folded(self._where(us), first="  "), *table]
        invisible = [one for one in self.materials if one.of_threshold < 1.0]
        lines += [folded(line, first="  - ") for line in map(_why, invisible)]
        return [*lines, "", folded(self._upside_down_words(us))]

    def sections(self, us: bool) -> tuple[Section, ...]:
        """For a page."""
        from tripmargin.pictures import Section

        title = say("A sensor upside down") if self.turned else say("A sensor left upside down")
        return (
            Section(
                say(_TITLE),
                [self._where(us)],
                (_headers(), [self._row(m) for m in self.materials]),
            ),
            # Below the table, not in it: in a column of a phone's page each would be very tall.
            Section(say("Why"), [_why(one) for one in self.materials]),
            Section(title, [self._upside_down_words(us)]),
        )

    def _where(self, us: bool) -> str:
        from tripmargin.pictures.words import length

        return say(
            "A {diameter} ball in each material, at the strongest place at mid height"
            " ({x} from the roll's middle, {height} above the roll). Below 1 of the"
            " threshold it is not seen.",
            diameter=length(self.materials[0].diameter, us),
            x=length(self.x, us),
            height=length(self.height, us),
        )

    @staticmethod
    def _row(one: MaterialSignal) -> tuple[str, str, str]:
        from tripmargin.ground.units import percent
        from tripmargin.pictures.words import plain_number

        of_steel = (
            percent(one.of_steel)
            if one.of_steel <= 1
            else f"{numeral(100 * one.of_steel, '.4g')} %"
        )
        return say(MATERIAL_WORDS[one.material]), f"{plain_number(one.of_threshold, 2)} x", of_steel

    def _upside_down_words(self, us: bool) -> str:
        from tripmargin.pictures.words import length

        ball = length(self.upside_down, us) if isfinite(self.upside_down) else None
        if self.turned and ball is None:
            return say(
                "The file says that the sensor is upside down. Upright, it would see no ball at"
                " all, of any size up to the roll's width."
            )
        if self.turned:
            return say(
                "The file says that the sensor is upside down. Upright, it would see nothing"
                " smaller than a {ball} ball.",
                ball=ball,
            )
        if ball is None:
            return say(
                "Left upside down after a repair, the sensor would see no ball at all, of any"
                " size up to the roll's width."
            )
        return say(
            "Left upside down after a repair, the sensor would see nothing smaller than a"
            " {ball} ball.",
            ball=ball,
        )


def _why(one: MaterialSignal) -> str:
    return f"{say(MATERIAL_WORDS[one.material])}: {one.why}"


def _headers() -> tuple[str, ...]:
    return tuple(map(say, _HEADERS))
