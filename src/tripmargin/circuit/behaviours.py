"""What a circuit does besides conducting: relays, the detector's module, the plunger."""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.circuit.parts import GROUND


@dataclass(frozen=True, slots=True)
class Relay:
    """A relay that pulls at a voltage across its coil and lets go at a lower one, V."""

    name: str
    coil: str
    pulls_at: float = 7.2
    drops_at: float = 1.8


@dataclass(frozen=True, slots=True)
class Input:
    """A node that the module watches against its own ground.

    Active at `volts` or more, or with `active_low` at less. A reset `on_edge` counts only when it
    becomes active, otherwise for as long as it is.
    """

    node: str
    volts: float
    active_low: bool = False
    on_edge: bool = False

    def active(self, volts: float) -> bool:
        """Whether the input is active at a voltage.

        >>> Input("D.R", 2.0, active_low=True).active(0.1)
        True
        """
        return volts < self.volts if self.active_low else volts >= self.volts


@dataclass(frozen=True, slots=True)
class SensorInput:
    """The sensor's lead: sound between two voltages; `monitored` where an unsound one trips."""

    node: str
    low: float
    high: float
    monitored: bool = False


@dataclass(frozen=True, slots=True)
class CheckWinding:
    """The test winding in the sensor: a press of the check button sends `current` (A) or more."""

    winding: str
    current: float = 0.01
    button: str = "test"


@dataclass(frozen=True, slots=True)
class Detector:
    """The detector's module, a latch that comes up tripped.

    Attributes
    ----------
    supply : (str, str)
        Nodes of its supply (15) and ground (31).
    rises_at, falls_at : float, V
        Its supply is in range from `rises_at` on, and out of range again below `falls_at`.
    alive_at : float, V
        Below this nothing in it works.
    reset : Input
    lock : Input or None
        Active: somebody has locked the feed, so it trips.
    sensor : SensorInput or None
    check : CheckWinding or None
    timed_pull : bool
        It has a pull output of its own, which ends after a time.
    """

    supply: tuple[str, str]
    rises_at: float
    falls_at: float
    reset: Input
    alive_at: float = 6.0
    lock: Input | None = None
    sensor: SensorInput | None = None
    check: CheckWinding | None = None
    timed_pull: bool = False

    def nodes(self) -> list[str]:
        """Every node that it watches."""
        inputs = (self.reset, self.lock, self.sensor)
        return [*self.supply, *(each.node for each in inputs if each is not None)]


@dataclass(frozen=True, slots=True)
class Mechanism:
    """The solenoid that holds the pawls off, and what drives the rolls.

    Attributes
    ----------
    hold, pull : str
        Names of the solenoid's windings; `pull` may be the same part.
    hold_min, pull_min : float, A
        Current that holds the plunger, and that pulls it in.
    forward, reverse : str or None
        Clutch windings; None where the shift is mechanical.
    clutch_min, reverse_min : float, A
        Current from which the clutches drive; without `reverse_min` both go by `clutch_min`.
    shift, lock : str
        Names of the shift switch and of the lock's switch.
    lock_holds : str
        "pawls out": a locked feed runs without protection. "plunger out": it stays stopped.
    jerks_undriven : bool
        Whether rolls that nothing drives are called "jerking" too while the plunger goes to and
        fro with the shift in forward; the neutral form does.
    """

    hold: str
    pull: str
    hold_min: float
    pull_min: float
    forward: str | None = None
    reverse: str | None = None
    clutch_min: float = 0.0
    reverse_min: float | None = None
    shift: str = "shift"
    lock: str = "lock"
    lock_holds: str = "pawls out"
    jerks_undriven: bool = False

    def parts(self) -> list[str]:
        """Every part whose current it goes by."""
        return [each for each in (self.hold, self.pull, self.forward, self.reverse) if each]


MOVEMENTS = ("plunger", "pawls", "rolls", "stop")
"""What is seen besides lamps and buzzers; none of these may have such a name."""

LOCK_HOLDS = ("pawls out", "plunger out")
"""What the inhibit lock does to the mechanism."""

BEHAVIOURS: dict[str, str] = {
    "detect_dead": "the module's sensing stage does not see metal",
    "plunger_spring_weak": "the plunger lets go late",
    "plunger_stuck": 'the plunger is seized "in" or "out"',
    "pawl_spring_broken": "the pawls stay out once they have been out",
    "linkage_broken": "the plunger moves, the pawls stay in",
    "clearance_wide": "the pawls have too far to swing and catch late",
}
"""Faults that no wire shows, by name."""

__all__ = [
    "BEHAVIOURS",
    "GROUND",
    "LOCK_HOLDS",
    "CheckWinding",
    "Detector",
    "Input",
    "Mechanism",
    "Relay",
    "SensorInput",
]
