"""Every single fault that a machine can have, read off its circuit and its other rooms."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.circuit import Connector, Fault, FaultMode, Network, Wire, fault_modes
from tripmargin.circuit.faults import at_part
from tripmargin.faultfinding.suspects.cause import Cause
from tripmargin.faultfinding.suspects.physical import physical_faults
from tripmargin.faultfinding.suspects.strengths import with_strengths
from tripmargin.faultfinding.suspects.touching import touching_wires
from tripmargin.ground.languages import later
from tripmargin.ground.languages.own_words import OwnWords
from tripmargin.ground.languages.phrases import Phrase, Words
from tripmargin.machine import Machine

SHOWS = 0.4
"""Share of looks in which a fault that comes and goes shows itself while the wiring is shaken.
Engineering judgement, no source."""
COMES_AND_GOES: dict[type, tuple[str, str, float]] = {
    Connector: ("open at times", later("pin does not always touch"), 0.05),
    Wire: ("open at times", later("wire broken inside, touches at times"), 0.01),
}
"""Kinds of part with a fault that comes and goes: its name, its text, its rate per 1000 h
(invented)."""


def causes_of(machine: Machine, network: Network) -> tuple[Cause, ...]:
    """Every single fault that a machine can have, at each strength, with what is mended for it."""
    devices = [part.name for part in machine.circuit.parts] if machine.circuit else []
    found = [
        Cause(mode.fault.id, _said(mode.fault), where, mode.rate, mode.source, mode.fault)
        for mode in fault_modes(network)
        for where in (_mended(mode, devices, machine),)
    ]
    found += [_at_times(cause, network) for cause in found if _may_come_and_go(cause, network)]
    found += [
        Cause(each.id, Phrase(each.text), each.mended, each.rate, physical=each)
        for each in physical_faults(machine)
    ]
    return (*with_strengths(found, network), *touching_wires(network))


_INSIDE = {
    "out": later("{device}, output {terminal}"),
    "in": later("{device}, input {terminal}"),
    "coil": later("{device}, coil"),
    "hold": later("{device}, hold"),
    "pull": later("{device}, pull"),
    "end": later("{device}, end"),
    "winding": later("{device}, winding"),
    "suppression": later("{device}, suppression"),
    "load": later("{device}, load"),
    "cells": later("{device}, cells"),
    "inside": later("{device}, inside"),
}
"""What is inside a housing, as people name it: by the first word of its name there."""
_TERMINALS = {
    "out.trip_out": later("{device}, output trip out"),
    "out.pull_out": later("{device}, output pull out"),
    "out.in_range": later("{device}, output in range"),
    "out.low": later("{device}, output low"),
    "out.tripped": later("{device}, output tripped"),
    "in.reset": later("{device}, input reset"),
    "in.lock": later("{device}, input lock"),
    "in.sensor": later("{device}, input sensor"),
}
"""The same of a detector's module, whose terminals the machine file's format names."""


def _said(fault: Fault) -> Words:
    """A fault's words with the part inside a housing named as people name it.

    >>> str(_said(Fault("", at_part("D.out.trip_out", "output never switches on"))))
    'D, output trip out: output never switches on'
    """
    part = fault.words.values.get("part") if isinstance(fault.words, Phrase) else None
    if not isinstance(fault.words, Phrase) or not isinstance(part, OwnWords):
        return fault.words
    name, point, inside = part.message.partition(".")
    if not point:
        return fault.words
    device = OwnWords(name)
    place, _, terminal = inside.partition(".")
    known = _TERMINALS.get(inside) or _INSIDE.get(place)
    if known is None:
        known, terminal = later("{device}, {terminal}"), inside
    named = {"device": device, "terminal": terminal.replace("_", " ")}
    return fault.words.of(part=Phrase(known, named))


_BEHAVIOUR_MENDED = {
    "pawl": "pawl springs",
    "linkage": "linkage",
    "clearance": "pawl clearance",
}


def _mended(mode: FaultMode, devices: Sequence[str], machine: Machine) -> str:
    """What is mended or replaced for a fault."""
    kinds = {part.kind: part.name for part in machine.circuit.parts} if machine.circuit else {}
    where = mode.fault.parts[0] if mode.fault.parts else ""
    if mode.fault.behaviour and not mode.fault.changes:
        special = {"plunger": kinds.get("solenoid", ""), "detect": kinds.get("detector", "")}
        return special.get(where) or _BEHAVIOUR_MENDED[where]
    inside = [name for name in devices if where == name or where.startswith(f"{name}.")]
    return max(inside, key=len, default=where)


def _may_come_and_go(cause: Cause, network: Network) -> bool:
    """Whether this is the break of a part whose breaks come and go."""
    fault = cause.fault
    if fault is None or not cause.id.endswith(":open") or len(fault.parts) != 1:
        return False
    return type(network.part(fault.parts[0])) in COMES_AND_GOES


def _at_times(cause: Cause, network: Network) -> Cause:
    assert cause.fault is not None
    part = cause.fault.parts[0]
    word, text, rate = COMES_AND_GOES[type(network.part(part))]
    return Cause(
        f"{part}:{word}",
        at_part(part, Phrase(text)),
        cause.mended,
        rate,
        fault=cause.fault,
        shows=SHOWS,
    )
