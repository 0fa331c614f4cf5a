"""Fields of the checks that must agree with the wiring and with each other."""

from __future__ import annotations

from collections.abc import Iterator

from tripmargin.ground.languages import say
from tripmargin.machine.check_sections import Checks, Look
from tripmargin.machine.circuit_agreement import Disagreement, known_name, node_names
from tripmargin.machine.circuit_devices import RelayPart
from tripmargin.machine.circuit_parts import FusePart, SignPart
from tripmargin.machine.circuit_sections import Circuit

MOVEMENTS = ("plunger", "pawls", "rolls", "stop")
"""What can be watched besides lamps and buzzers."""
WITHOUT_PART = ("pawl springs", "pawl clearance", "linkage", "roll", "sensor position")
"""What is mended although it is no part of the wiring."""
_NEEDS = {
    "volts": "between",
    "ohms": "between",
    "fuse": "fuse",
    "relay": "relay",
    "test piece": "piece",
}


def check_disagreements(checks: Checks, circuit: Circuit | None) -> Iterator[Disagreement]:
    """Every field of the checks that contradicts another."""
    if circuit is None:
        yield (
            "checks",
            "",
            say("there are checks but no wiring that says what they show"),
            "[circuit] beside [checks]",
            say("Describe the wiring first."),
        )
        return
    yield from _states(checks, circuit)
    yield from _looks(checks, circuit)
    yield from _paths(checks, circuit)
    yield from known_name(
        "checks.daily", checks.daily, [path.name for path in checks.paths], "path"
    )
    repaired = [part.name for part in circuit.parts]
    for repair in checks.repairs:
        place = f"checks.repairs.{repair.name}"
        yield from known_name(place, repair.name, [*repaired, *WITHOUT_PART], "part")
        if repair.together_with is not None:
            yield from known_name(f"{place}.together_with", repair.together_with, repaired, "part")


def _states(checks: Checks, circuit: Circuit) -> Iterator[Disagreement]:
    steps = {step.name: step for step in circuit.steps}
    for name in checks.worked:
        yield from known_name("checks.worked", name, steps, "operating step")
    before = {state.name: state.after for state in checks.states}
    for state in checks.states:
        place = f"checks.states.{state.name}"
        if state.after is not None:
            yield from known_name(f"{place}.after", state.after, before, "state")
        for name in state.steps:
            yield from known_name(f"{place}.steps", name, steps, "operating step")
            step = steps.get(name)
            if step is not None and step.engine and _locked(dict(step.switches), circuit):
                yield (
                    f"{place}.steps",
                    name,
                    say("this step locks the protection out while the engine runs"),
                    say("steps in which the protection is not locked out"),
                    say("No check may run the feed unprotected."),
                )
        seen, at = {state.name}, state.after
        while at is not None and at in before:
            if at in seen:
                yield (
                    f"{place}.after",
                    str(state.after),
                    say("a ring: no way leads here"),
                    say("a way"),
                    "",
                )
                break
            seen.add(at)
            at = before[at]
    for state in [each for each in checks.states if each.after is None][1:]:
        yield (
            f"checks.states.{state.name}",
            "",
            say("a second state without `after`: only the machine at rest has none"),
            say("`after` with the state that it is reached from"),
            "",
        )
    if all(state.after is not None for state in checks.states):
        yield (
            "checks.states",
            "",
            say("no state is the machine at rest"),
            say("one state without `after`"),
            say("Start from the machine at rest: key off."),
        )


def _locked(switches: dict[str, str], circuit: Circuit) -> bool:
    return switches.get(circuit.lock, "off") != "off"


def _looks(checks: Checks, circuit: Circuit) -> Iterator[Disagreement]:
    states = [state.name for state in checks.states]
    parts = [part.name for part in circuit.parts]
    fuses = [part.name for part in circuit.parts if isinstance(part, FusePart)]
    relays = [part.name for part in circuit.parts if isinstance(part, RelayPart)]
    nodes = node_names(circuit)
    for look in checks.looks:
        place = f"checks.looks.{look.name}"
        yield from known_name(f"{place}.state", look.state, states, "state")
        needed = _NEEDS.get(look.kind)
        if needed is not None and not getattr(look, needed):
            yield (
                place,
                look.kind,
                say('a look of this kind needs "{needed}"', needed=needed),
                needed,
                "",
            )
        for node in look.between:
            yield from known_name(f"{place}.between", node, nodes, "node")
        for part in look.unplugged:
            yield from known_name(f"{place}.unplugged", part, parts, "part")
        if look.fuse is not None:
            yield from known_name(f"{place}.fuse", look.fuse, fuses, "fuse")
        if look.relay is not None:
            yield from known_name(f"{place}.relay", look.relay, relays, "relay")
        if look.kind == "ohms" and _beyond_rest(checks, look.state):
            yield (
                f"{place}.state",
                look.state,
                say("ohms are measured at rest, with the battery disconnected"),
                say("the state without `after`"),
                "",
            )
        yield from _hands_off(look, place, checks, circuit)


def _hands_off(look: Look, place: str, checks: Checks, circuit: Circuit) -> Iterator[Disagreement]:
    """Nobody measures or feels about with the engine running."""
    if look.kind in ("test piece", "empty run", "stop time"):
        return
    running = {step.name for step in circuit.steps if step.engine}
    state = next((each for each in checks.states if each.name == look.state), None)
    if state is not None and running & set(_way(checks, state.name)):
        yield (
            f"{place}.state",
            look.state,
            say("the engine runs in this state, and this look sends hands to the machine"),
            say("a state in which the engine is off"),
            say("Add a state that is reached with the engine off."),
        )


def _beyond_rest(checks: Checks, name: str) -> bool:
    """Whether a state is another than the machine at rest."""
    return any(state.name == name and state.after is not None for state in checks.states)


def _way(checks: Checks, name: str) -> tuple[str, ...]:
    """Operating steps from the machine at rest to a state."""
    states = {state.name: state for state in checks.states}
    steps: tuple[str, ...] = ()
    at: str | None = name
    for _ in states:
        if at is None or at not in states:
            break
        steps = (*states[at].steps, *steps)
        at = states[at].after
    return steps


def _paths(checks: Checks, circuit: Circuit) -> Iterator[Disagreement]:
    states = [state.name for state in checks.states]
    looks = [look.name for look in checks.looks]
    signs = [part.name for part in circuit.parts if isinstance(part, SignPart)]
    for name in checks.beside:
        yield from known_name("checks.beside", name, signs, "lamp or buzzer")
    for path in checks.paths:
        place = f"checks.paths.{path.name}"
        for state in path.states:
            yield from known_name(f"{place}.states", state, states, "state")
        for name in path.watch:
            yield from known_name(f"{place}.watch", name, [*signs, *MOVEMENTS], "lamp or movement")
        for name in path.looks:
            yield from known_name(f"{place}.looks", name, looks, "look")
