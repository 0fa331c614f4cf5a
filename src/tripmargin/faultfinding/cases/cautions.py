"""The cautions that stand before everything that sends a person to the machine."""

from __future__ import annotations

from tripmargin.faultfinding.suspects.states import MachineState

FIRST = (
    "This protects knives, not people. The operator's manual, local codes and licensed practice"
    " come first."
)
AT_REST = (
    "Engine off, key out, everything at rest.",
    "Release stored energy: springs, pressure, anything wound up or lifted.",
    "Block the feed rolls before hands go near rolls, knives, springs or wiring.",
)
LIVE = (
    "Engine off; the key is on. The plunger and the pawls may move: keep fingers away from them.",
    "Block the feed rolls. Touch wiring with the meter's probes only, and short nothing.",
    "What must be held while you look elsewhere a second person holds. Never tie it down.",
)
RUNNING = (
    "Before the engine starts: blocks and tools out, guards shut, everybody clear. The rolls may"
    " turn: nobody within reach of rolls, knives or drives.",
    "Look and listen from where you cannot reach them, with one person at the controls and signs"
    " agreed.",
)
TWO_LIVE = (
    "Where a control is held or moved while you are beside the machine, that takes two people: one"
    " at the controls, you beside the machine. Agree on signs first: nothing is switched, pressed"
    " or let go without your sign, hands clear. Before hands go near rolls, knives or springs: key"
    " out, and you keep it."
)
TWO_RUNNING = (
    "This takes two people: one in the seat, you outside where you can be seen. Agree on signs"
    " first: no start without your sign; a stop at your sign, or when you are out of sight. Before"
    " anybody comes near: engine off, everything at rest, and you keep the key."
)
"""What is said where one is at the controls while another looks or measures: by what is looked at,
not by what a machine's file happens to say. Common practice, no source."""
NEVER_LOCKED = "Never run the feed with the protection locked out."


def cautions_for(state: MachineState, second_person: bool = False) -> tuple[str, ...]:
    """What is said first, in this state of the machine.

    `second_person`: one is at the controls while another looks or measures.

    Examples
    --------
    >>> still = MachineState("at rest", ("key off",), ("Key out.",), running=False, live=False)
    >>> cautions_for(still)[0]
    'Engine off, key out, everything at rest.'
    """
    if state.running:
        return (*RUNNING, *([TWO_RUNNING] if second_person else []), NEVER_LOCKED)
    if state.live:
        return (*LIVE, *([TWO_LIVE] if second_person else []))
    return AT_REST
