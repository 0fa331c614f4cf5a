"""What each single fault does: where it first shows, and what becomes of the machine."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.suspects.cause import Cause
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS, complaints_by
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.faultfinding.suspects.physical import PhysicalFault
from tripmargin.faultfinding.suspects.showing import Shown

TOLD = 3
"""Differences told of the step in which a fault first shows."""
STOPPED, LATE, THROUGH = "stopped in time", "stopped late", "goes through"
"""What becomes of metal that a sound machine stops in time."""
UNSEEN = "nothing differs in any step that the machine was worked through"


@dataclass(frozen=True, slots=True)
class Effect:
    """What one fault does.

    Attributes
    ----------
    step : str
        The first step of working the machine in which something differs; empty where none does.
    local : str
        What differs there: lamps, buzzers and movements, and what a sound machine shows.
    complaints : tuple of str
        What the operator would complain of.
    metal : str
        What becomes of metal that must be stopped: `STOPPED`, `LATE` or `THROUGH`.
    """

    step: str
    local: str
    complaints: tuple[str, ...]
    metal: str


def single_faults(of: MachineProblem) -> tuple[Hypothesis, ...]:
    """Every single fault of a machine at its listed strength, those that nothing shows last."""
    return (*(each for each in of.hypotheses if each.listed), *of.invisible)


def effects_of(of: MachineProblem) -> tuple[Effect, ...]:
    """The effect of each of `single_faults`, in their order."""
    told = complaints_by(of.shown, of.hypotheses)
    rows = {each.id: row for each, row in zip(of.hypotheses, told, strict=True)}
    none = np.zeros(len(COMPLAINTS), bool)
    return tuple(_effect(of.shown, each, rows.get(each.id, none)) for each in single_faults(of))


def _effect(shown: Shown, fault: Hypothesis, told: NDArray[np.bool_]) -> Effect:
    cause = fault.causes[0]
    said = tuple(name for name, yes in zip(COMPLAINTS, told, strict=True) if yes)
    metal = metal_under(shown, fault)
    if cause.physical is not None:
        return Effect("", _physical_words(cause.physical), said, metal)
    step, local = _first(shown, cause)
    return Effect(step, local, said, metal)


def metal_under(shown: Shown, fault: Hypothesis) -> str:
    """What becomes of metal under a single fault: `STOPPED`, `LATE` or `THROUGH`."""
    cause = fault.causes[0]
    if cause.physical is not None:
        return STOPPED if shown.sees(fault) else THROUGH
    return _metal(shown, cause)


def _first(shown: Shown, cause: Cause) -> tuple[str, str]:
    """The first step in which a fault of the circuit shows, and what differs in it."""
    table = shown.worked
    assert cause.fault is not None
    words = table.words[table.faults.index(cause.fault.id)]
    for k, step in enumerate(table.steps):
        differs = np.flatnonzero(words[k] != table.words[0, k])
        if len(differs):
            named = [_said(shown, table.columns[c], words[k, c], table.words[0, k, c])
                     for c in differs[:TOLD]]  # fmt: skip
            more = f" and {len(differs) - TOLD} more" if len(differs) > TOLD else ""
            return step, f"{'; '.join(named)}{more}"
    return "", UNSEEN


def _said(shown: Shown, column: str, word: str, sound: str) -> str:
    """One difference in words; a stop that is not asked for has no word."""
    now, then = (shown.said(column, str(each)) or "none" for each in (word, sound))
    return f"{column}: {now}, not {then}"


def _metal(shown: Shown, cause: Cause) -> str:
    """What becomes of metal in the steps in which a sound machine stops it in time."""
    table = shown.worked
    assert cause.fault is not None
    stops = table.words[:, :, table.columns.index("stop")]
    steps = {step.name: step for step in shown.network.steps}
    comes = np.array([steps[name].metal for name in table.steps])
    came = stops[table.faults.index(cause.fault.id), comes & (stops[0] == "in time")]
    bad = set(came.tolist()) - {"in time", ""}
    if not bad:
        return STOPPED
    return LATE if bad == {"late"} else THROUGH


def _physical_words(fault: PhysicalFault) -> str:
    """What a fault outside the circuit does where it is."""
    found = []
    if fault.signal < 1:
        found.append(f"the signal is {100 * fault.signal:.0f} % of a sound machine's")
    found += [f"{name} is {value}" for name, value in fault.settings.items()]
    if fault.false_trips:
        found.append("the module trips with no metal there while the rolls turn")
    if fault.clearance:
        found.append(f"the pawls' clearance is {fault.clearance}")
    if fault.pull:
        found.append(f"a paper clip on the roll: {fault.pull}")
    return "; ".join(found)
