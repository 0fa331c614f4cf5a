"""What the machine's own wiring does when the power goes while the feed runs."""

from __future__ import annotations

from dataclasses import replace

from tripmargin.circuit import State, network_from_machine, operate
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.machine import Machine
from tripmargin.pictures.answer_words import answer_words


def power_lost(machine: Machine) -> tuple[State, State, State] | None:
    """The circuit as the feed runs forward, once the battery gives nothing, and with power back.

    Returns
    -------
    (State, State, State) or None
        None where the file has no wiring, or none whose feed runs forward armed.
    """
    if machine.circuit is None:
        return None
    try:
        network = network_from_machine(machine)
        states = tuple(operate(network))
    except TripmarginError:  # wiring that cannot be solved is said by the commands that need it
        return None
    for number, (step, state) in enumerate(zip(network.steps, states, strict=True)):
        runs = state.rolls == "forward" and state.plunger == "in" and not state.tripped
        if runs and step.engine and state.pawls == "out":
            after = replace(step, name="power lost", volts=0.0), replace(step, name="power back")
            before = network.steps[: number + 1]
            dead, back = operate(network, after, before=before)
            return state, dead, back
    return None


def power_law(machine: Machine) -> str:
    """Why a loss of power stops the feed; empty where this machine's wiring does otherwise."""
    found = power_lost(machine)
    if found is not None and (found[1].pawls, found[1].rolls) != ("in", "stopped"):
        return ""
    pawls = machine.chain.pawls if machine.chain is not None else ()
    if len(pawls) == 1:
        return say(
            "Power holds the pawl out; a spring throws it in. So any loss of power stops the feed."
        )
    return say(
        "Power holds the pawls out; a spring throws them in. So any loss of power stops the feed."
    )


def power_words(machine: Machine) -> list[str]:
    """What came of it, in sentences; that the wiring is not known where it is not."""
    found = power_lost(machine)
    if found is None:
        return [
            say(
                "The file does not give a wiring that can be solved: the hold winding's supply is"
                " taken as cut at once."
            )
        ]
    _, dead, back = found
    does = {
        "plunger": answer_words(dead.plunger),
        "pawls": answer_words(dead.pawls),
        "rolls": answer_words(dead.rolls),
    }
    lit = [as_written(name) for name, shows in dead.lamps.items() if shows != "off"]
    if lit:
        solved = say(
            "The machine's own wiring, solved with its battery at 0 V while the feed runs: plunger"
            " {plunger}, pawls {pawls}, rolls {rolls}; lit: {lamps}.", lamps=", ".join(lit), **does
        )  # fmt: skip
    else:
        solved = say(
            "The machine's own wiring, solved with its battery at 0 V while the feed runs: plunger"
            " {plunger}, pawls {pawls}, rolls {rolls}; no lamp is lit and nothing sounds.", **does
        )  # fmt: skip
    words = [
        solved,
        say(
            "The winding's supply is cut at once, so neither a decision nor the relay is waited"
            " for. A clutch that lets go as well is left out: with it the feed would go no further."
        ),
    ]
    if back.rolls == "stopped" and back.tripped:
        words.append(
            say(
                "With the power back the module stands tripped and waits for a reset: the feed does"
                " not start by itself."
            )
        )
    return words
