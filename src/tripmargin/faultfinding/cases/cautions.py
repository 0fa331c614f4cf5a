"""The cautions that stand before everything that sends a person to the machine.

The constants are to be said: `said` and `cautions_for` do.
"""

from __future__ import annotations

from collections.abc import Iterable

from tripmargin.faultfinding.suspects.states import MachineState
from tripmargin.ground.languages import later, say

FIRST = later(
    "This protects knives, not people. The operator's manual, local codes and licensed practice"
    " come first."
)
AT_REST = (
    later("Engine off, key out, everything at rest."),
    later("Release stored energy: springs, pressure, anything wound up or lifted."),
    later("Block the feed rolls before hands go near rolls, knives, springs or wiring."),
)
LIVE = (
    later(
        "Engine off; the key is on. The plunger and the pawls may move: keep fingers away from"
        " them."
    ),
    later("Block the feed rolls. Touch wiring with the meter's probes only, and short nothing."),
    later("What must be held while you look elsewhere a second person holds. Never tie it down."),
)
RUNNING = (
    later(
        "Before the engine starts: blocks and tools out, guards shut, everybody clear. The rolls"
        " may turn: nobody within reach of rolls, knives or drives."
    ),
    later(
        "Look and listen from where you cannot reach them, with one person at the controls and"
        " signs agreed."
    ),
)
TWO_LIVE = later(
    "Where a control is held or moved while you are beside the machine, that takes two people: one"
    " at the controls, you beside the machine. Agree on signs first: nothing is switched, pressed"
    " or let go without your sign, hands clear. Before hands go near rolls, knives or springs: key"
    " out, and you keep it."
)
TWO_RUNNING = later(
    "This takes two people: one in the seat, you outside where you can be seen. Agree on signs"
    " first: no start without your sign; a stop at your sign, or when you are out of sight. Before"
    " anybody comes near: engine off, everything at rest, and you keep the key."
)
"""What is said where one is at the controls while another looks or measures: by what is looked at,
not by what a machine's file happens to say. Common practice, no source."""
NEVER_LOCKED = later("Never run the feed with the protection locked out.")


def said(cautions: Iterable[str]) -> tuple[str, ...]:
    """Cautions in the reader's words.

    >>> said(AT_REST)[0]
    'Engine off, key out, everything at rest.'
    """
    return tuple(say(each) for each in cautions)


def cautions_for(state: MachineState, second_person: bool = False) -> tuple[str, ...]:
    """What is said first, in this state of the machine, in the reader's words.

    `second_person`: one is at the controls while another looks or measures.

    Examples
    --------
    >>> still = MachineState("at rest", ("key off",), ("Key out.",), running=False, live=False)
    >>> cautions_for(still)[0]
    'Engine off, key out, everything at rest.'
    """
    if state.running:
        return said((*RUNNING, *([TWO_RUNNING] if second_person else []), NEVER_LOCKED))
    if state.live:
        return said((*LIVE, *([TWO_LIVE] if second_person else [])))
    return said(AT_REST)
