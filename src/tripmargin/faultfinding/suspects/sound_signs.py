"""What lamps, buzzers and rolls of a sound machine do in each step of its daily check.

Only the sound circuit is taken through the steps, which takes some hundredths of a second; the
whole problem of a machine takes some ten.
"""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.circuit import HEALTHY, Buzzer, Network, fault_tables, network_from_machine, operate
from tripmargin.faultfinding.suspects.check_paths import path_named
from tripmargin.faultfinding.suspects.states import in_a_row, machine_states, ways_onward
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later
from tripmargin.ground.languages.phrases import Words
from tripmargin.machine import Machine
from tripmargin.machine.check_sections import Checks


@dataclass(frozen=True, slots=True)
class Sign:
    """A lamp or a buzzer.

    Attributes
    ----------
    name, kind, place : str
        As the machine's file has it; "lamp" or "buzzer"; empty where the file does not say.
    word : str
        One of `tripmargin.circuit.LIGHTS`.
    """

    name: str
    kind: str
    place: str
    word: str


@dataclass(frozen=True, slots=True)
class SoundStep:
    """A step, and what a sound machine shows in it.

    Attributes
    ----------
    step : str
        The circuit's operating step.
    ways : tuple of str or Phrase
        What the person does to come here; empty where the file does not say.
    running : bool
        Whether the engine runs.
    signs : tuple of Sign
        Those that can be seen or heard then.
    not_seen : tuple of str
        Those read beside the machine, so not looked at while the engine runs.
    rolls : str
        What the rolls do: "stopped", "forward", "reverse" or "jerking"; empty where the circuit
        has no mechanism that stops them.
    """

    step: str
    ways: tuple[Words, ...]
    running: bool
    signs: tuple[Sign, ...]
    not_seen: tuple[str, ...] = ()
    rolls: str = ""

    @property
    def do(self) -> str:
        """What the person does to come here, said now."""
        return in_a_row(self.ways)


def sound_steps(machine: Machine) -> tuple[SoundStep, ...]:
    """The steps of the daily check; where the file has no checks, all steps of the circuit.

    The states of the check are those of fault finding: the machine was worked before, and each
    state is reached from key off. A step that the check comes to twice is told once.

    Raises
    ------
    NotKnownError
        If the machine file has no `[circuit]`.
    MachineFileError, CircuitError
        If the circuit cannot be solved as it is written.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> first = sound_steps(load_machine("dunlin"))[0]
    >>> first.step, [(sign.name, sign.word) for sign in first.signs][:2]
    ('armed', [('supply in range', 'on'), ('trip latched', 'on')])
    """
    circuit = machine.circuit
    if circuit is None:
        raise NotKnownError(later("what the lamps should show"), ["circuit"])
    network = network_from_machine(machine)
    places = {part.name: part.place or "" for part in circuit.parts}
    if machine.checks is not None:
        return _of_check(machine, machine.checks, network, places)
    return tuple(
        SoundStep(
            state.step,
            (),
            step.engine,
            _signs(network, state.lamps, places),
            rolls=_rolls(network, state.rolls),
        )
        for step, state in zip(network.steps, operate(network), strict=True)
    )


def _of_check(
    machine: Machine, checks: Checks, network: Network, places: dict[str, str]
) -> tuple[SoundStep, ...]:
    every = machine_states(machine, checks)
    known = {state.name: state for state in every}
    names = path_named(checks, checks.daily).states
    ways = [[*checks.worked, *known[name].steps] for name in names]
    tables = fault_tables(network, ways, last_of=range(len(ways)))
    found: dict[str, SoundStep] = {}
    for name, do, table in zip(names, ways_onward(checks, every, names), tables, strict=True):
        state = known[name]
        step = state.steps[-1]
        hidden = checks.beside if state.running else ()
        shows = table.shows(HEALTHY, step)
        signs = _signs(network, shows, places)
        seen = tuple(sign for sign in signs if sign.name not in hidden)
        rolls = _rolls(network, shows["rolls"])
        found.setdefault(step, SoundStep(step, do, state.running, seen, tuple(hidden), rolls))
    return tuple(found.values())


def _rolls(network: Network, word: str) -> str:
    return word if network.mechanism is not None else ""


def _signs(network: Network, words: dict[str, str], places: dict[str, str]) -> tuple[Sign, ...]:
    return tuple(
        Sign(
            name,
            "buzzer" if isinstance(network.part(name), Buzzer) else "lamp",
            places.get(name, ""),
            words[name],
        )
        for name in network.indicators
    )
