"""What a machine shows in each step of operating it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tripmargin.circuit.grid import Look


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment of a circuit that does not come to rest."""

    voltages: dict[str, float]
    closed: tuple[str, ...]
    lamps: dict[str, str]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "voltages_V": dict(self.voltages),
            "contacts_closed": list(self.closed),
            "lamps": dict(self.lamps),
        }


@dataclass(frozen=True, slots=True)
class State:
    """What one step shows.

    Attributes
    ----------
    step : str
    voltages : dict of node to V
    currents : dict of part to A
        From p to n; sources: what they deliver.
    closed : tuple of str
        Contacts that are closed.
    lamps : dict of lamp or buzzer to "on", "dim", "off" or "flicker"
    relays : dict of relay to bool
        Pulled.
    tripped, in_range : bool
        Of the detector's module.
    supply : float, V
        Between the module's terminals.
    plunger : str
        "in" or "out".
    plunger_word : str
        "pulled" (it went in in this step), "held" or "dropped".
    pawls : str
        "in" the ratchets or "out" of them.
    rolls : str
        "forward", "reverse", "stopped" or "jerking".
    stop : str or None
        How a stop that this step asked for went.
    momentary_trip : bool
        It tripped and armed itself again at once.
    alternates : tuple of str
        Where the circuit does not come to rest: what goes to and fro. Empty where it does.
    moments : tuple of Moment
        The moments of that cycle; voltages and currents above are those of the last.
    fuses_blown, blew : tuple of str
        Fuses that are gone, and those of them that went in this step.
    greatest_pull : float, A
        Through the pull winding at any moment of the step.
    least_supply : float, V
        Of the module at any moment of the step.
    """

    step: str
    voltages: dict[str, float]
    currents: dict[str, float]
    closed: tuple[str, ...]
    lamps: dict[str, str]
    relays: dict[str, bool]
    tripped: bool
    in_range: bool
    supply: float
    plunger: str
    plunger_word: str
    pawls: str
    rolls: str
    stop: str | None
    momentary_trip: bool
    alternates: tuple[str, ...]
    moments: tuple[Moment, ...]
    fuses_blown: tuple[str, ...]
    blew: tuple[str, ...]
    greatest_pull: float
    least_supply: float

    @property
    def chatter(self) -> bool:
        """Whether the circuit does not come to rest in this step."""
        return bool(self.moments)

    def across(self, red: str, black: str = "0") -> float:
        """Voltage from one node to another, V (`with_meters` puts the meter itself in)."""
        return self.voltages[red] - self.voltages[black]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "step": self.step,
            "voltages_V": dict(self.voltages),
            "currents_A": dict(self.currents),
            "contacts_closed": list(self.closed),
            "lamps": dict(self.lamps),
            "relays": dict(self.relays),
            "module": {
                "supply_V": self.supply,
                "in_range": self.in_range,
                "tripped": self.tripped,
            },
            "plunger": self.plunger,
            "plunger_word": self.plunger_word,
            "pawls": self.pawls,
            "rolls": self.rolls,
            "stop": self.stop,
            "momentary_trip": self.momentary_trip,
            "chatter": self.chatter,
            "alternates": list(self.alternates),
            "moments": [moment.to_dict() for moment in self.moments],
            "fuses_blown": list(self.fuses_blown),
            "blew_in_this_step": list(self.blew),
            "greatest_pull_A": self.greatest_pull,
            "least_supply_V": self.least_supply,
        }


@dataclass(frozen=True, slots=True)
class States:
    """What each step shows, in order; a step's state by its name or its number."""

    steps: tuple[State, ...]
    faults: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.steps)

    def __iter__(self) -> Iterator[State]:
        return iter(self.steps)

    def __getitem__(self, step: str | int) -> State:
        if isinstance(step, int):
            return self.steps[step]
        for state in self.steps:
            if state.step == step:
                return state
        raise KeyError(step)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {"faults": list(self.faults), "steps": [state.to_dict() for state in self.steps]}


__all__ = ["Look", "Moment", "State", "States"]
