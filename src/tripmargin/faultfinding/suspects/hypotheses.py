"""What may be wrong with a machine: single faults, pairs, faults that come and go, nothing, else.

Each hypothesis has a weight from how often its faults come. A pair's weight is the product of its
faults' rates and of the time for which a first fault stays unnoticed: the second must come in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from tripmargin.circuit import Connector, Fault, FaultMode, Network, Wire, fault_modes
from tripmargin.faultfinding.suspects.physical import PhysicalFault, physical_faults
from tripmargin.machine import Machine

NOTHING = "nothing"
"""Id of the hypothesis that the machine is sound."""
SOMETHING_ELSE = "something else"
"""Id of the hypothesis that takes what nothing listed explains."""
NOTHING_SHARE, ELSE_SHARE = 0.02, 0.03
"""Shares of cases in which nothing is wrong, and in which it is something that is not listed.
Engineering judgement, no source."""
PAIRS = 200
"""Pairs that are run through the circuit, the likeliest; the rest counts as something else."""
SHOWS = 0.4
"""Share of looks in which a fault that comes and goes shows itself while the wiring is shaken.
Engineering judgement, no source."""
COMES_AND_GOES: dict[type, tuple[str, str, float]] = {
    Connector: ("open at times", "pin does not always touch", 0.05),
    Wire: ("open at times", "wire broken inside, touches at times", 0.01),
}
"""Kinds of part with a fault that comes and goes: its name, its text, its rate per 1000 h
(invented)."""


@dataclass(frozen=True, slots=True)
class Cause:
    """One fault, and what is mended for it.

    `mended` is a part's name, or a word such as "pawl springs". `shows` is the share of looks in
    which the fault is there: 1 unless it comes and goes.
    """

    id: str
    text: str
    mended: str
    rate: float
    source: str = "invented"
    fault: Fault | None = None
    physical: PhysicalFault | None = None
    shows: float = 1.0


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """What may be wrong: one cause, two, none ("nothing"), or something that is not listed."""

    id: str
    causes: tuple[Cause, ...]
    weight: float

    @property
    def text(self) -> str:
        """What a person calls it."""
        if self.causes:
            return " and ".join(cause.text for cause in self.causes)
        return "nothing is wrong" if self.id == NOTHING else "something that is not listed"

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Its faults in the circuit."""
        return tuple(cause.fault for cause in self.causes if cause.fault is not None)

    @property
    def physical(self) -> tuple[PhysicalFault, ...]:
        """Its faults outside the circuit."""
        return tuple(cause.physical for cause in self.causes if cause.physical is not None)

    @property
    def shows(self) -> float:
        """Share of looks in which it shows itself."""
        return min((cause.shows for cause in self.causes), default=1.0)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {
            "id": self.id,
            "text": self.text,
            "mended": [cause.mended for cause in self.causes],
            "weight": self.weight,
            "source": sorted({cause.source for cause in self.causes}),
            "shows": self.shows,
        }


def causes_of(machine: Machine, network: Network) -> tuple[Cause, ...]:
    """Every single fault that a machine can have, with what is mended for it."""
    devices = [part.name for part in machine.circuit.parts] if machine.circuit else []
    found = [
        Cause(mode.fault.id, _said(mode.fault), where, mode.rate, mode.source, mode.fault)
        for mode in fault_modes(network)
        for where in (_mended(mode, devices, machine),)
    ]
    found += [_at_times(cause, network) for cause in found if _may_come_and_go(cause, network)]
    found += [
        Cause(each.id, each.text, each.mended, each.rate, physical=each)
        for each in physical_faults(machine)
    ]
    return tuple(found)


def _said(fault: Fault) -> str:
    """A fault's text with the part inside a housing named as people name it.

    >>> _said(Fault("", "D.out.trip_out: output never switches on", parts=("D.out.trip_out",)))
    'D, output trip out: output never switches on'
    """
    text = fault.text
    for part in fault.parts:
        device, point, inside = part.partition(".")
        if point and text.startswith(f"{part}:"):
            words = inside.replace("out.", "output ").replace("in.", "input ")
            text = f"{device}, {words.replace('_', ' ')}{text[len(part) :]}"
    return text


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
        f"{part}:{word}", f"{part}: {text}", cause.mended, rate, fault=cause.fault, shows=SHOWS
    )


def hypotheses_of(machine: Machine, network: Network) -> tuple[Hypothesis, ...]:
    """Everything that may be wrong, as weights that sum to 1; 'nothing' and 'something else' last.

    Raises
    ------
    NotKnownError
        If the machine file has no `[checks]`.
    """
    causes = causes_of(machine, network)
    single = [Hypothesis(cause.id, (cause,), cause.rate) for cause in causes if cause.rate > 0]
    checks = machine.checks
    unnoticed = checks.unnoticed.nominal / 3.6e6 if checks is not None else 0.0  # 1000 h
    both = sorted(_pairs(causes, unnoticed), key=lambda pair: -pair.weight)
    kept, rest = both[:PAIRS], sum(pair.weight for pair in both[PAIRS:])
    total = sum(each.weight for each in (*single, *both))
    known = 1.0 - NOTHING_SHARE - ELSE_SHARE
    scale = known / total if total > 0 else 0.0
    weighed = [Hypothesis(each.id, each.causes, each.weight * scale) for each in (*single, *kept)]
    return (
        *weighed,
        Hypothesis(NOTHING, (), NOTHING_SHARE),
        Hypothesis(SOMETHING_ELSE, (), ELSE_SHARE + rest * scale),
    )


def _pairs(causes: Sequence[Cause], unnoticed: float) -> Iterator[Hypothesis]:
    """Every two lasting causes at once; two faults of one and the same thing mended are left out.

    A repair cures both of these, so that they ask for nothing that the single faults do not.
    """
    lasting = [cause for cause in causes if cause.shows == 1.0 and cause.rate > 0]
    for one, other in combinations(lasting, 2):
        if one.mended != other.mended and not (one.physical and other.physical):
            weight = one.rate * other.rate * unnoticed
            yield Hypothesis(f"{one.id} + {other.id}", (one, other), weight)
