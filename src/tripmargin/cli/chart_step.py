"""`tripmargin chart --step`: the wiring in an operating step, with a fault in it or without."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.output import Output, Picture
from tripmargin.cli.tables import folded
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written

if TYPE_CHECKING:
    from tripmargin.circuit import Fault, Network, State
    from tripmargin.machine import Machine


def show_step(machine: Machine, step: str, fault: str | None, output: Output) -> None:
    """Show the wiring in a step: printed, drawn, as a table or as JSON.

    Raises
    ------
    UsageError
        If there is no such step or fault of the wiring.
    """
    from tripmargin.circuit import network_from_machine, operate
    from tripmargin.pictures.current_paths_words import differences

    network = network_from_machine(machine)
    steps = [each.name for each in network.steps]
    step = {as_written(name).lower(): name for name in steps}.get(step.lower(), step)
    _known("--step", step, steps)
    sound = operate(network)[step]
    faults = () if fault is None else (_fault(network, fault),)
    state = operate(network, None, faults)[step] if faults else sound
    differs = differences(network, state, sound) if faults else []
    output.show(
        {
            "machine_name": machine.name,
            "fault": fault,
            **state.to_dict(),
            "differs": [{"name": name, "shows": now, "sound": was} for name, now, was in differs],
        },
        lines=lambda: _print(machine, state, faults, differs),
        picture=_picture(machine, network, (state, sound if faults else None), faults),
    )


def _fault(network: Network, name: str) -> Fault:
    from tripmargin.circuit import fault_modes

    known = {mode.fault.id: mode.fault for mode in fault_modes(network)}
    _known("--fault", name, list(known))
    return known[name]


def _known(option: str, name: str, known: list[str]) -> None:
    """Refuse a name that is not known, with the nearest one that is."""
    from tripmargin.ground.errors import nearest

    if name in known:
        return
    near = nearest(name, known)
    if option == "--fault":
        refused = say('--fault: this machine has no fault of the wiring "{name}".', name=name)
    else:
        refused = say('--step: this machine has no step "{name}".', name=name)
    if near:
        hint = say('Did you mean "{near}"?', near=near)
    else:
        hint = say("Known: {known}.", known="; ".join(map(as_written, known)))
    raise click.UsageError(f"{refused} {hint}")


def _print(
    machine: Machine,
    state: State,
    faults: tuple[Fault, ...],
    differs: list[tuple[str, str, str]],
) -> None:
    from tripmargin.circuit import HEARD
    from tripmargin.faultfinding.suspects.found_words import word_said
    from tripmargin.faultfinding.suspects.looks import MOVING
    from tripmargin.pictures.words import SAFETY

    assert machine.circuit is not None
    click.echo(folded(say(SAFETY)))
    told = say('{machine} in step "{step}"', machine=machine.name, step=as_written(state.step))
    if faults:
        told = say(
            '{machine} in step "{step}" with {fault}',
            machine=machine.name,
            step=as_written(state.step),
            fault=faults[0].text,
        )
    click.echo(folded(told))
    buzzers = {part.name for part in machine.circuit.parts if part.kind == "buzzer"}
    shows = {
        as_written(name): HEARD[word] if name in buzzers else word
        for name, word in state.lamps.items()
    }
    shows |= {
        say(MOVING["plunger"]): state.plunger,
        say(MOVING["pawls"]): state.pawls,
        say(MOVING["rolls"]): state.rolls,
    }
    for name, word in shows.items():
        click.echo(f"  {name}: {word_said(word)}")
    if faults:
        said = "; ".join(
            say("{name} {now}, not {was}", name=as_written(name), now=now, was=was)
            for name, now, was in differs
        ) or say("nothing")
        told = say("Different from a sound machine: {differences}.", differences=said)
        click.echo(folded(told, first="  "))


def _picture(
    machine: Machine,
    network: Network,
    states: tuple[State, State | None],
    faults: tuple[Fault, ...],
) -> Picture:
    """The wiring in a state, beside that of the sound machine where there is a fault."""
    state, sound = states

    def draw(width: float, sun: bool, _: bool) -> str:
        from tripmargin.pictures import current_paths_picture

        wide = 1200.0 if width > 520 else width
        return current_paths_picture(network, state, width=wide, sun=sun, healthy=sound)

    def table(_: bool) -> tuple[Any, Any]:
        from tripmargin.pictures import current_paths_table

        return current_paths_table(network, state)

    title = say(
        "{machine}: the circuit in step {step}", machine=machine.name, step=as_written(state.step)
    )
    if faults:
        title = say(
            "{machine}: the circuit in step {step}, with {fault}",
            machine=machine.name,
            step=as_written(state.step),
            fault=faults[0].text,
        )
    return Picture(title, draw, table)
