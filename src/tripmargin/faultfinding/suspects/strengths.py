"""Faults at other strengths than the listed one: a joint corrodes a little, or almost through.

What a lamp or a meter shows goes by how strong a fault is. So each listed fault that may be weaker
or stronger is run through the circuit at other strengths too, which share its rate; so are wires
and contacts that conduct badly, with a part of the rate of those that do not conduct at all.
Strengths and shares are engineering judgement, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tripmargin.circuit import (
    ByModule,
    Change,
    Connector,
    Contact,
    Fault,
    GroundJoint,
    Network,
    Part,
    Resistive,
    Source,
    Winding,
    Wire,
)
from tripmargin.circuit.faults import at_part
from tripmargin.faultfinding.suspects.cause import Cause
from tripmargin.ground.languages import later
from tripmargin.ground.languages.phrases import Phrase, Words


@dataclass(frozen=True, slots=True)
class Strengths:
    """Other strengths of a kind of fault.

    Attributes
    ----------
    values : tuple of float
        Ohm, or V for a battery, or a share of the sound part's resistance.
    share : float
        Of the listed fault's rate, that all of these have together.
    text : str
        What a person calls it, to be said; `{value}` is the value.
    at_any : str
        What a person calls it, whatever its strength; to be said.
    unit : str
        "ohm", "V", or "of its ohms" for a share.
    """

    values: tuple[float, ...]
    share: float
    text: str
    at_any: str
    unit: str = "ohm"


OHMS = (0.3, 0.7, 1.5, 3.5, 8.0, 18.0, 40.0, 90.0, 200.0)
CHAFED_OHMS = (0.01, 0.2, 0.5, 1.5, 4.0)
OF_ITS_OHMS = (0.75, 0.25, 0.1, 0.03)
VOLTS_OFF = (-0.6, -2.0, -3.0, -4.0)
OTHER: dict[tuple[type[Part], str], Strengths] = {
    (Source, "weak"): Strengths(
        VOLTS_OFF, 0.6, later("battery weak, {value:g} V"), later("battery weak"), "V"
    ),
    (GroundJoint, "corroded"): Strengths(
        OHMS, 0.7, later("ground joint corroded, {value:g} ohm"), later("ground joint corroded")
    ),
    (Connector, "loose"): Strengths(
        OHMS, 0.7, later("pin loose or corroded, {value:g} ohm"), later("pin loose or corroded")
    ),
    (Wire, "open"): Strengths(
        OHMS, 0.3, later("wire nearly broken, {value:g} ohm"), later("wire broken, or nearly")
    ),
    (Wire, "chafed"): Strengths(
        CHAFED_OHMS,
        0.6,
        later("wire chafed to ground, {value:g} ohm there"),
        later("wire chafed to ground"),
    ),
    (Winding, "turns"): Strengths(
        OF_ITS_OHMS,
        0.6,
        later("{value:.0%} of its ohms left"),
        later("turns shorted"),
        "of its ohms",
    ),
    (Contact, "never"): Strengths(
        OHMS, 0.3, later("contact burnt, {value:g} ohm"), later("contact burnt, or it never closes")
    ),
    (Contact, "make"): Strengths(
        OHMS, 0.3, later("make contact burnt, {value:g} ohm"), later("make contact burnt or dead")
    ),
    (Contact, "break"): Strengths(
        OHMS, 0.3, later("break contact burnt, {value:g} ohm"), later("break contact burnt or dead")
    ),
}
"""By the kind of part and the last word of the listed fault's id."""


def with_strengths(causes: Sequence[Cause], network: Network) -> tuple[Cause, ...]:
    """The causes, and behind them the same faults at other strengths.

    The strengths of one fault share its rate. The listed ones keep their ids.
    """
    parts = {part.name: part for part in network.parts}
    found, more = [], []
    for cause in causes:
        known = _strengths(cause, parts)
        if known is None:
            found.append(cause)
            continue
        said = at_part(_where(cause), Phrase(known.at_any))
        found.append(replace(cause, share=1.0 - known.share, at_any_strength=said))
        share = known.share / len(known.values)
        more += [
            replace(each, share=share, at_any_strength=said) for each in _at(cause, known, parts)
        ]
    return (*found, *more)


def drawn_strengths(
    causes: Sequence[Cause], network: Network, rng: np.random.Generator
) -> tuple[Cause, ...]:
    """Each fault that has strengths at one drawn between its least and its greatest.

    In proportion (log-uniform), as nobody knows better. For rehearsals: a real joint resists
    neither 0.7 ohm nor 1.5.
    """
    parts = {part.name: part for part in network.parts}
    found = []
    for cause in causes:
        known = _strengths(cause, parts)
        if known is not None:
            sizes = np.abs(known.values)
            value = float(np.exp(rng.uniform(*np.log([sizes.min(), sizes.max()]))))
            drawn = replace(known, values=(float(np.copysign(value, known.values[0])),))
            said = at_part(_where(cause), Phrase(known.at_any))
            found += [replace(each, at_any_strength=said) for each in _at(cause, drawn, parts)]
    return tuple(found)


def _strengths(cause: Cause, parts: dict[str, Part]) -> Strengths | None:
    """The other strengths of a cause, None where it has none."""
    part = _part(cause, parts)
    if part is None or cause.shows < 1 or (isinstance(part, Contact) and _by_module(part)):
        return None
    return OTHER.get((type(part), cause.id.rpartition(":")[2]))


def _by_module(contact: Contact) -> bool:
    """Whether a transistor, not a contact that may burn."""
    return isinstance(contact.by, ByModule)


def _part(cause: Cause, parts: dict[str, Part]) -> Part | None:
    fault = cause.fault
    if fault is None or not fault.changes or len(fault.parts) != 1:
        return None
    return parts.get(fault.parts[0]) or parts.get(fault.changes[0].part)


def _where(cause: Cause) -> Words:
    """The part, as people name it."""
    if isinstance(cause.words, Phrase):
        found: Words = cause.words.values["part"]
        return found
    return cause.words.partition(": ")[0]


def _at(cause: Cause, known: Strengths, parts: dict[str, Part]) -> Iterator[Cause]:
    """A cause at each of its other strengths."""
    fault = cause.fault
    assert fault is not None
    part = _part(cause, parts)
    whole = part.ohm if known.unit == "of its ohms" and isinstance(part, Resistive) else 1.0
    for value in known.values:
        words = at_part(_where(cause), Phrase(known.text, {"value": value}))
        name = f"{cause.id}, {value:g} {known.unit}"
        changes = tuple(_changed(change, value * whole) for change in fault.changes)
        yield replace(
            cause,
            id=name,
            words=words,
            fault=Fault(name, words, changes, {}, fault.parts),
            strength_of=cause.id,
        )


def _changed(change: Change, value: float) -> Change:
    """What a fault does at another strength."""
    if change.kind == "volts_offset":
        return replace(change, value=value)
    if change.kind == "add":
        assert isinstance(change.added, Resistive)
        return replace(change, added=replace(change.added, ohm=value))
    return Change("ohm", change.part, value)
