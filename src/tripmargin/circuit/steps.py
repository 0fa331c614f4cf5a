"""One step of operating the machine: where each switch stands, and what else is so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

ON, OFF = "on", "off"


@dataclass(frozen=True, slots=True)
class Step:
    """A state that a person brings the machine into.

    Attributes
    ----------
    name : str
    switches : mapping of switch to position
        Positions are words; a switch that is not named is "off".
    volts : float, V
        Of the battery, before its inner resistance.
    engine : bool
        The engine drives the rolls.
    metal : bool
        Metal passes the sensor in this step.

    Examples
    --------
    >>> Step("forward", {"key": "on", "shift": "forward"}, 13.8, engine=True).position("lock")
    'off'
    """

    name: str
    switches: Mapping[str, str] = field(default_factory=dict)
    volts: float = 12.6
    engine: bool = False
    metal: bool = False

    def position(self, switch: str) -> str:
        """Where a switch stands."""
        return self.switches.get(switch, OFF)

    def inputs(self) -> tuple[Any, ...]:
        """Everything but the name: two steps with the same inputs do the same."""
        return (tuple(sorted(self.switches.items())), self.volts, self.engine, self.metal)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "name": self.name,
            "switches": dict(self.switches),
            "volts_V": self.volts,
            "engine": self.engine,
            "metal": self.metal,
        }
