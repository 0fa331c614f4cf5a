"""Faults as data: what a fault does to the parts, and to what they do."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from tripmargin.circuit.errors import CircuitError, problem, unknown
from tripmargin.circuit.network import Network, altered
from tripmargin.circuit.parts import Contact, Diode, Failed, Part, Resistive, original
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import OwnWords
from tripmargin.ground.languages.phrases import Phrase, Words

SHORT_OHM = 0.01
"""Ohm. What a part that is shorted inside still resists. Engineering judgement, no source."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that a fault does to the circuit.

    `kind` is one of `KINDS`; `part` the part (or relay) it happens to, `value` a number or state,
    `added` the part that comes in.
    """

    kind: str
    part: str = ""
    value: float | bool | None = None
    added: Part | None = None


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault: its name, what a person calls it, what it does, and the parts it lies in.

    Attributes
    ----------
    id : str
    words : str or Phrase
        What a person calls it.
    changes : tuple of Change
    behaviour : mapping
        Faults that no wire shows, by the names of `BEHAVIOURS`.
    parts : tuple of str
        Where it lies, for the repair.
    """

    id: str
    words: Words
    changes: tuple[Change, ...] = ()
    behaviour: Mapping[str, Any] = field(default_factory=dict)
    parts: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """What a person calls it, said now."""
        return str(self.words)


def at_part(part: Words, fault: Words) -> Phrase:
    """A fault with the part that has it.

    >>> str(at_part("W3", "wire broken"))
    'W3: wire broken'
    """
    named = OwnWords(part) if isinstance(part, str) else part
    return Phrase(later("{part}: {fault}"), {"part": named, "fault": fault})


def _opened(part: Part, change: Change, network: Network) -> Part:
    if isinstance(part, Contact):
        return part.stuck_at(False)
    return Failed(part.name, part.p, part.n, network.open_ohm, original(part))


def _shorted(part: Part, change: Change, network: Network) -> Part:
    if isinstance(part, Contact):
        return part.stuck_at(True)
    return Failed(part.name, part.p, part.n, SHORT_OHM, original(part))


def _resisting(part: Part, change: Change, network: Network) -> Part:
    if isinstance(part, Contact | Resistive) and isinstance(change.value, float | int):
        return replace(part, ohm=float(change.value))
    raise _does_not_fit(part, change, say("a part with a resistance, and a value in ohm"))


def _stuck(part: Part, change: Change, network: Network) -> Part:
    if isinstance(part, Contact):
        return part.stuck_at(bool(change.value))
    raise _does_not_fit(part, change, say("a contact"))


def _reversed(part: Part, change: Change, network: Network) -> Part:
    if isinstance(part, Diode):
        return replace(part, p=part.n, n=part.p)
    raise _does_not_fit(part, change, say("a diode or an LED"))


_AT_PARTS: dict[str, Callable[[Part, Change, Network], Part]] = {
    "ohm": _resisting,
    "reverse": _reversed,
    "short": _shorted,
    "stuck": _stuck,
    "open": _opened,
}

KINDS = (*_AT_PARTS, "add", "volts_offset", "pulls_at")
"""Kinds of change: another resistance, a diode the wrong way round, shorted inside, a contact that
no longer moves, broken; a part added (a chafed wire), the battery's voltage off, a relay that pulls
at another voltage."""

_RANK = {kind: k for k, kind in enumerate(KINDS)}


def _does_not_fit(part: Part, change: Change, allowed: str) -> CircuitError:
    what = say(
        'the fault "{fault}" does not fit a part of the kind "{part}"',
        fault=change.kind,
        part=part.kind,
    )
    return CircuitError([problem(part.name, change.value, what, allowed)])


def with_fault(network: Network, fault: Fault) -> Network:
    """The network with one fault in it.

    Raises
    ------
    CircuitError
        If the fault names a part that is not there, or does not fit it.
    """
    return with_faults(network, (fault,))


def with_faults(network: Network, faults: Sequence[Fault]) -> Network:
    """The network with several faults in it at once; their order does not matter.

    Where two faults sit in one part, the broken one wins over the shorted, and either over a
    changed resistance. Two that set one resistance: the greater.

    Raises
    ------
    CircuitError
        If a fault names a part that is not there, or does not fit it.
    """
    if not faults:
        return network
    changes = sorted(
        (change for fault in faults for change in fault.changes),
        key=lambda c: (_RANK.get(c.kind, 99), c.part, -float(c.value is not False), _size(c)),
    )
    parts = {part.name: part for part in network.parts}
    offset, pulls = network.volts_offset, {}
    for change in changes:
        if change.kind == "volts_offset":
            offset += _size(change)
        elif change.kind == "pulls_at":
            pulls[change.part] = _size(change)
        elif change.kind != "add":
            _alter(parts, change, network)
    for fault in faults:
        _add(parts, fault)
    behaviour = {**network.behaviour}
    for fault in faults:
        behaviour.update(fault.behaviour)
    sound = not any(fault.behaviour for fault in faults) and all(
        change.kind != "add" and _size_is_sound(change) for change in changes
    )
    return (altered if sound else replace)(
        network,
        parts=tuple(parts.values()),
        relays=_weakened(network, pulls),
        behaviour=behaviour,
        volts_offset=offset,
    )


def _size_is_sound(change: Change) -> bool:
    """Whether a change cannot make a network unsolvable."""
    return change.kind != "ohm" or _size(change) > 0


def _size(change: Change) -> float:
    return float(change.value) if change.value is not None else 0.0


def _alter(parts: dict[str, Part], change: Change, network: Network) -> None:
    if change.kind not in _AT_PARTS:
        raise CircuitError([unknown("fault", change.kind, KINDS, "kind of change")])
    if change.part not in parts:
        raise CircuitError([unknown(f"fault.{change.kind}", change.part, list(parts), "part")])
    parts[change.part] = _AT_PARTS[change.kind](parts[change.part], change, network)


def _add(parts: dict[str, Part], fault: Fault) -> None:
    """Put in the parts that a fault adds, under a name that is still free."""
    for change in fault.changes:
        if change.kind == "add" and change.added is not None:
            name = change.added.name
            if name in parts:
                name = f"{fault.id}.{name}"
            parts[name] = replace(change.added, name=name)


def _weakened(network: Network, pulls: dict[str, float]) -> tuple[Any, ...]:
    names = [relay.name for relay in network.relays]
    for name in pulls:
        if name not in names:
            raise CircuitError([unknown("fault.pulls_at", name, names, "relay")])
    return tuple(
        replace(relay, pulls_at=pulls.get(relay.name, relay.pulls_at)) for relay in network.relays
    )


def pairs(faults: Iterable[Fault]) -> list[tuple[Fault, Fault]]:
    """Every two of the faults, to be run together: one may hide the other.

    >>> len(pairs([Fault("a", ""), Fault("b", ""), Fault("c", "")]))
    3
    """
    import itertools

    return list(itertools.combinations(faults, 2))
