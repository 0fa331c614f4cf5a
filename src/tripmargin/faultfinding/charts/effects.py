"""What each single fault does: where it first shows, and what becomes of the machine."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.suspects.cause import Cause
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS, complaints_by
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.looks import MOVING
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.faultfinding.suspects.physical import PhysicalFault
from tripmargin.faultfinding.suspects.showing import Shown
from tripmargin.ground.languages import later, say, say_as, say_many
from tripmargin.ground.languages.own_words import as_written

TOLD = 3
"""Differences told of the step in which a fault first shows."""
STOPPED, LATE, THROUGH = "stopped in time", "stopped late", "goes through"
"""What becomes of metal that a sound machine stops in time."""
METAL = {
    STOPPED: later("stopped in time"),
    LATE: later("stopped late"),
    THROUGH: later("goes through"),
}
"""The same, to be said."""


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
            told = "; ".join(named)
            if len(differs) > TOLD:
                rest = len(differs) - TOLD
                told = say_many(
                    "{told} and {count} more", "{told} and {count} more", rest, told=told
                )
            return step, told
    return "", say("nothing differs in any step that the machine was worked through")


def _said(shown: Shown, column: str, word: str, sound: str) -> str:
    """One difference in words; a stop that is not asked for has no word."""
    words = (shown.said(column, str(each)) for each in (word, sound))
    now, then = (word_said(each, column) or say_as("stop", "none") for each in words)
    return say("{what}: {now}, not {then}", what=_column_said(column), now=now, then=then)


def _column_said(column: str) -> str:
    """A lamp, a buzzer, a movement, or the stop."""
    if column == "stop":
        return say("stop")
    return say(MOVING[column]) if column in MOVING else as_written(column)


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
        weak = say("the signal is {percent:.0f} % of a sound machine's", percent=100 * fault.signal)
        found.append(weak)
    found += [
        say("{field} is {value}", field=name, value=value) for name, value in fault.settings.items()
    ]
    if fault.false_trips:
        found.append(say("the module trips with no metal there while the rolls turn"))
    if fault.clearance:
        found.append(
            say("the pawls' clearance is {clearance}", clearance=word_said(fault.clearance))
        )
    if fault.pull:
        found.append(say("a paper clip on the roll: {pull}", pull=word_said(fault.pull)))
    return "; ".join(found)
