"""What an operator says when something is wrong, and what each fault makes them say.

What happened while the machine was worked is compared with what a sound machine does. A complaint
is heard wrong or told wrong more often than a look goes wrong.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tripmargin.circuit import FaultTable
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.showing import Shown
from tripmargin.ground.languages import later

COMPLAINTS: dict[str, str] = {
    "dead": later("Nothing lights and nothing moves."),
    "feed stays stopped": later("It does not reset: the feed stays stopped, whatever is done."),
    "stops on nothing": later("The feed stops, or jerks, with no metal there."),
    "will not reverse": later("The rolls do not reverse."),
    "metal went through": later("Metal reached the knives, or the feed stopped too late."),
    "check does not stop it": later("The check button does not stop the feed."),
    "lamp or buzzer wrong": later("A lamp or a buzzer does what it should not; the feed works."),
    "nothing noticed": later("No complaint: it is looked at because it is due."),
}
"""Complaints by the few words that they are kept by, each in a sentence, to be said."""

TOLD_WRONG = 0.1
"""Share of complaints that are told or heard wrong. Engineering judgement, no source."""

Flags = NDArray[np.bool_]


def complaint_chances(shown: Shown, hypotheses: Sequence[Hypothesis]) -> NDArray[np.float64]:
    """Chance of each complaint under each hypothesis; (H, complaints), rows sum to 1."""
    said = complaints_by(shown, hypotheses)
    count = said.shape[1]
    share = said / np.maximum(said.sum(axis=1, keepdims=True), 1)
    chances = (1 - TOLD_WRONG) * share + TOLD_WRONG / count
    chances[~said.any(axis=1)] = 1.0 / count
    normal: NDArray[np.float64] = chances / chances.sum(axis=1, keepdims=True)
    return normal


def complaints_by(shown: Shown, hypotheses: Sequence[Hypothesis]) -> Flags:
    """Which complaints each hypothesis gives rise to; none for 'nothing' and 'something else'."""
    table, rows = shown.worked, shown.rows
    rolls = table.words[:, :, table.columns.index("rolls")]
    sound = rolls[0]
    forward, backward = sound == "forward", sound == "reverse"
    never = ~(rolls[:, forward] == "forward").any(axis=1) & forward.any()
    halts = (rolls[:, forward] != "forward").any(axis=1) & ~never
    false = np.array([any(f.false_trips for f in each.physical) for each in hypotheses])
    at_times = np.array([each.shows < 1 for each in hypotheses])
    said = np.zeros((len(hypotheses), len(COMPLAINTS)), bool)
    dead = _dark(table, shown)[rows] & never[rows]
    said[:, 0] = dead
    said[:, 1] = never[rows] & ~dead
    said[:, 2] = halts[rows] | false | (at_times & never[rows])
    said[:, 3] = (rolls[:, backward] != "reverse").any(axis=1)[rows] & ~never[rows]
    said[:, 4] = _through(table, shown)[rows] | _unseen(shown, hypotheses)
    said[:, 5] = _unchecked(table, shown)[rows]
    said[:, 6] = _signs_differ(table)[rows] & ~said[:, :6].any(axis=1)
    said[:, 7] = ~said.any(axis=1)
    said[-2:] = False
    return said


def _dark(table: FaultTable, shown: Shown) -> Flags:
    """Whether no lamp or buzzer ever shows anything."""
    signs = [table.columns.index(name) for name, _, _ in shown.signs]
    return np.asarray((table.words[:, :, signs] == "off").all(axis=(1, 2)))


def _signs_differ(table: FaultTable) -> Flags:
    return np.array([bool(table.differs(name)) for name in table.faults])


def _stops(table: FaultTable) -> NDArray[np.str_]:
    found: NDArray[np.str_] = table.words[:, :, table.columns.index("stop")]
    return found


def _through(table: FaultTable, shown: Shown) -> Flags:
    """Whether a stop that a sound machine makes in time is not made, or late, metal coming."""
    stops = _stops(table)
    metal = {step.name for step in shown.network.steps if step.metal}
    asked = (stops[0] == "in time") & np.array([name in metal for name in table.steps])
    bad = (stops[:, asked] != "in time") & (stops[:, asked] != "")
    return np.asarray(bad.any(axis=1))


def _unchecked(table: FaultTable, shown: Shown) -> Flags:
    """Whether the rolls go on while the check button is pressed."""
    detector = shown.network.detector
    if detector is None or detector.check is None:
        return np.zeros(len(table.faults), bool)
    button = detector.check.button
    steps = {step.name: step for step in shown.network.steps}
    pressed = np.array([steps[name].position(button) == "on" for name in table.steps])
    return np.asarray((_stops(table)[:, pressed] == "runs on").any(axis=1))


def _unseen(shown: Shown, hypotheses: Sequence[Hypothesis]) -> Flags:
    """Whether metal that must be stopped is not seen, by faults that no wire shows."""
    return np.array([not shown.sees(each) for each in hypotheses])
