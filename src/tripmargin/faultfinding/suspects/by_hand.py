"""Looks at springs, gaps, linkage, roll and relays: what each fault shows to a hand or an eye."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tripmargin.circuit import Fault
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.ground.languages import later


@dataclass(frozen=True, slots=True)
class ByHand:
    """What the person does, to be said, and the word that a hypothesis gives."""

    do: str
    word: Callable[[Hypothesis], str]


def _behaviour(hypothesis: Hypothesis) -> dict[str, Any]:
    """What the hypothesis's faults do besides the wiring."""
    found: dict[str, Any] = {}
    for fault in hypothesis.faults:
        found.update(fault.behaviour)
    return found


def _clearance(hypothesis: Hypothesis) -> str:
    if _behaviour(hypothesis).get("clearance_wide"):
        return "too wide"
    narrow = [each.clearance for each in hypothesis.physical if each.clearance]
    return narrow[0] if narrow else "within limits"


def _springs(hypothesis: Hypothesis) -> str:
    broken = _behaviour(hypothesis).get("pawl_spring_broken")
    return "stays where it is" if broken else "snaps back"


def _plunger(hypothesis: Hypothesis) -> str:
    behaviour = _behaviour(hypothesis)
    if behaviour.get("plunger_stuck"):
        return "does not move"
    if behaviour.get("plunger_spring_weak"):
        return "comes back slowly"
    return "moves and snaps back"


def _linkage(hypothesis: Hypothesis) -> str:
    return "broken" if _behaviour(hypothesis).get("linkage_broken") else "whole"


def _magnetism(hypothesis: Hypothesis) -> str:
    pulls = [each.pull for each in hypothesis.physical if each.pull]
    return pulls[0] if pulls else "it is pulled only over the magnets, as usual"


def relay_word(hypothesis: Hypothesis, relay: str) -> str:
    """What a relay out of its socket does when a charged battery feeds its coil.

    Examples
    --------
    >>> from tripmargin.circuit import Fault
    >>> from tripmargin.faultfinding.suspects.cause import Cause
    >>> weld = Fault("K1:welded", "K1: make contact welded", parts=("K1",))
    >>> cause = Cause(weld.id, weld.text, "K1", 0.02, fault=weld)
    >>> relay_word(Hypothesis(weld.id, (cause,), 1), "K1")
    'stays switched over'
    """
    for cause in hypothesis.causes:
        fault = cause.fault
        name = cause.strength_of or cause.id
        word = _RELAY_WORDS.get(name[len(relay) :])
        if fault is not None and word is not None and name.startswith(relay) and _felt(fault):
            return word
    return "switches over"


FELT_OHM = 3.0
"""Ohm. From this a burnt contact shows in a test lamp. Engineering judgement, no source."""


def _felt(fault: Fault) -> bool:
    """Whether a test lamp over the contact shows the fault."""
    return all(c.kind != "ohm" or c.value is None or c.value >= FELT_OHM for c in fault.changes)


_RELAY_WORDS = {
    ".coil:open": "does not switch over",
    ".suppression:short": "draws a spark, does not switch over",
    ".suppression:reverse": "draws a spark, does not switch over",
    ":make": "clicks, its make contact leaves a test lamp dim or dark",
    ":break": "clicks, its break contact leaves a test lamp dim or dark",
    ":welded": "stays switched over",
    ":weak": "does not switch over",
}
"""By the end of the fault's name."""

BY_HAND: dict[str, ByHand] = {
    "pawl clearance": ByHand(later("Gauge the clearance of each pawl."), _clearance),
    "pawl springs": ByHand(later("Pull each pawl back by hand and let it go."), _springs),
    "plunger": ByHand(later("Push the solenoid's plunger in by hand and let it go."), _plunger),
    "linkage": ByHand(later("Follow the linkage from the plunger to the pawls."), _linkage),
    "roll magnetism": ByHand(
        later("Lead a paper clip on a thread along and around the lower front roll."), _magnetism
    ),
}
"""Looks by their kind in the machine file."""
