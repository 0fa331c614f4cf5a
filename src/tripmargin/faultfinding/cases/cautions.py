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
NEVER_LOCKED = "Never run the feed with the protection locked out."


def cautions_for(state: MachineState) -> tuple[str, ...]:
    """What is said first, in this state of the machine.

    Examples
    --------
    >>> still = MachineState("at rest", ("key off",), ("Key out.",), running=False, live=False)
    >>> cautions_for(still)[0]
    'Engine off, key out, everything at rest.'
    """
    which = RUNNING if state.running else LIVE if state.live else AT_REST
    return (*which, NEVER_LOCKED) if state.running else which
