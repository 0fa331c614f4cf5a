"""A circuit: its parts, and what they do besides conducting."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any

from tripmargin.circuit.behaviours import Detector, Mechanism, Relay
from tripmargin.circuit.errors import CircuitError, unknown
from tripmargin.circuit.parts import GROUND, INDICATORS, OPEN_OHM, Part, original
from tripmargin.circuit.steps import Step

if TYPE_CHECKING:
    from tripmargin.circuit.fault_modes import FaultMode


@dataclass(frozen=True, slots=True)
class Network:
    """Parts between nodes, with relays, a detector's module and a mechanism where there are any.

    Attributes
    ----------
    parts : tuple of Part
    relays : tuple of Relay
    detector : Detector or None
    mechanism : Mechanism or None
    steps : tuple of Step
        The machine's operating steps, in order.
    proves : mapping of indicator to text
        What each lamp or buzzer says when it is on.
    rates : mapping of fault to (rate, source)
        Per 1000 operating hours, in place of the default ones.
    own_faults : tuple of FaultMode
        Faults of this machine besides those of its parts' kinds.
    behaviour : mapping
        Faults that no wire shows, by the names of `BEHAVIOURS`.
    volts_offset : float, V
        Added to the battery voltage of each step.
    open_ohm : float, ohm
        What an open contact still lets through.

    Raises
    ------
    CircuitError
        If it cannot be solved as it stands; every problem is named.

    Examples
    --------
    >>> from tripmargin.circuit.parts import Resistor, Source
    >>> len(Network((Source("B", "30", "0"), Resistor("R", "30", "0", 6.0))).nodes)
    2
    """

    parts: tuple[Part, ...]
    relays: tuple[Relay, ...] = ()
    detector: Detector | None = None
    mechanism: Mechanism | None = None
    steps: tuple[Step, ...] = ()
    proves: Mapping[str, str] = field(default_factory=dict)
    rates: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    own_faults: tuple[FaultMode, ...] = ()
    behaviour: Mapping[str, Any] = field(default_factory=dict)
    volts_offset: float = 0.0
    open_ohm: float = OPEN_OHM

    def __post_init__(self) -> None:
        from tripmargin.circuit.checking import problems_of

        found = problems_of(self)
        if found:
            raise CircuitError(found)

    @property
    def nodes(self) -> tuple[str, ...]:
        """Every node, the battery's negative post last."""
        seen = dict.fromkeys(node for part in self.parts for node in (part.p, part.n))
        seen.pop(GROUND, None)
        return (*seen, GROUND)

    @property
    def indicators(self) -> tuple[str, ...]:
        """Names of the lamps and buzzers, in the order of the parts."""
        return tuple(part.name for part in self.parts if isinstance(original(part), INDICATORS))

    def part(self, name: str) -> Part:
        """The part of a name.

        Raises
        ------
        CircuitError
            If there is none.
        """
        for part in self.parts:
            if part.name == name:
                return part
        raise CircuitError([unknown("part", name, [part.name for part in self.parts], "part")])

    def steps_named(self, steps: Iterable[Step | str] | None) -> tuple[Step, ...]:
        """Steps as given, or looked up by name; None stands for all of the machine's own.

        Raises
        ------
        CircuitError
            If a name is not one of the machine's steps.
        """
        if steps is None:
            return self.steps
        own = {step.name: step for step in self.steps}
        chosen = []
        for step in steps:
            if isinstance(step, str):
                if step not in own:
                    raise CircuitError([unknown("steps", step, list(own), "step")])
                step = own[step]
            chosen.append(step)
        return tuple(chosen)


def altered(network: Network, **changed: Any) -> Network:
    """The network with some fields changed, not looked through again.

    For changes that cannot make a network unsolvable which was not so before: other resistances,
    contacts that are stuck, a meter between nodes that are there. To look through thousands of
    networks that differ so little takes longer than to solve them.
    """
    other = object.__new__(Network)
    for each in fields(Network):
        value = changed[each.name] if each.name in changed else getattr(network, each.name)
        object.__setattr__(other, each.name, value)
    return other
