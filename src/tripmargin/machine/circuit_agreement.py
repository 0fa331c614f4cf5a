"""Fields of the wiring that must agree with each other, whatever each says alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import later, say, say_many
from tripmargin.ground.languages.lists import listed
from tripmargin.machine.chain_sections import Suppression
from tripmargin.machine.circuit_devices import DetectorPart
from tripmargin.machine.circuit_parts import CircuitPart, SwitchPart, WirePart
from tripmargin.machine.circuit_sections import Circuit

# field, value seen, problem, allowed, hint
Disagreement = tuple[str, str, str, str, str]
ONE_ONLY = ("detector", "solenoid", "check winding")
ALWAYS = ("on", "off", "forward", "reverse", "neutral")
"""Positions that any switch may stand in."""


def circuit_disagreements(circuit: Circuit) -> Iterator[Disagreement]:
    """Every pair of fields of the wiring that contradict each other."""
    for part in circuit.parts:
        yield from _of_part(part, f"circuit.parts.{part.name}")
    yield from _one_only(circuit)
    yield from _steps(circuit)
    yield from _own_faults(circuit)


def switches(circuit: Circuit) -> dict[str, set[str]]:
    """The positions of each switch, as its contacts name them."""
    found: dict[str, set[str]] = {circuit.shift: set(), circuit.lock: set()}
    for part in circuit.parts:
        if isinstance(part, SwitchPart):
            positions = found.setdefault(part.switch or part.name, set())
            positions.update(part.closed_in or part.open_in or ("on",))
    return found


def _of_part(part: CircuitPart, place: str) -> Iterator[Disagreement]:
    if isinstance(part, WirePart):
        yield from _wire(part, place)
    if isinstance(part, SwitchPart) and part.closed_in and part.open_in:
        yield (
            f"{place}.open_in",
            ", ".join(part.open_in),
            say("a contact has closed_in or open_in, not both"),
            say("one of the two"),
            say("Take one out."),
        )
    if isinstance(part, DetectorPart):
        yield from _detector(part, place)
    suppression = getattr(part, "suppression", None)
    if isinstance(suppression, Suppression):
        yield from _suppression(suppression, f"{place}.suppression")


def _wire(part: WirePart, place: str) -> Iterator[Disagreement]:
    whole = part.length is not None and part.section is not None
    if whole == (part.resistance is not None):
        what = (
            say("a wire needs its length and section, or its resistance; this one has both")
            if whole
            else say("a wire needs its length and section, or its resistance; this one has neither")
        )
        yield (
            place,
            "",
            what,
            'length = "2 m", section = "0.75 mm2"',
            "",
        )


def _detector(part: DetectorPart, place: str) -> Iterator[Disagreement]:
    for name, watched in (("reset", part.reset), ("lock", part.lock)):
        if (watched.above is None) == (watched.below is None):
            yield (
                f"{place}.{name}",
                "",
                say("an input is active above a voltage or below one: write one of the two"),
                listed(('{ above = "6 V" }', '{ below = "2 V" }'), "or"),
                "",
            )
    low, high = part.supply.falls_at, part.supply.rises_at
    if low is not None and high is not None and low.nominal > high.nominal:
        yield (
            f"{place}.supply.falls_at",
            low.text,
            say("above rises_at ({rises_at})", rises_at=high.text),
            say("falls_at below rises_at"),
            say("Swap the two?"),
        )


def _suppression(found: Suppression, place: str) -> Iterator[Disagreement]:
    given = {"resistance": found.resistance, "voltage": found.voltage}
    wants = {"resistor": "resistance", "zener": "voltage"}.get(found.kind)
    if wants is not None and given[wants] is None:
        yield (
            place,
            found.kind,
            say('kind "{kind}" needs its {wants}', kind=found.kind, wants=wants),
            listed(
                (
                    '{ kind = "resistor", resistance = "82 ohm" }',
                    '{ kind = "zener", voltage = "24 V" }',
                ),
                "or",
            ),
            "",
        )


def _one_only(circuit: Circuit) -> Iterator[Disagreement]:
    for kind in ONE_ONLY:
        names = [part.name for part in circuit.parts if part.kind == kind]
        for name in names[1:]:
            yield (
                f"circuit.parts.{name}",
                name,
                say("a second {kind}: {name} is one already", kind=kind, name=names[0]),
                say("one {kind}", kind=kind),
                "",
            )
    ways = [(part.name, way) for part in circuit.parts if (way := getattr(part, "drives", None))]
    seen: dict[str, str] = {}
    for name, way in ways:
        if way in seen:
            yield (
                f"circuit.parts.{name}.drives",
                way,
                say("{part} drives the rolls forward already", part=seen[way])
                if way == "forward"
                else say("{part} drives the rolls in reverse already", part=seen[way]),
                say("one for each way"),
                "",
            )
        seen.setdefault(way, name)


def _steps(circuit: Circuit) -> Iterator[Disagreement]:
    known = switches(circuit)
    counts = Counter(step.name for step in circuit.steps)
    for name, count in counts.items():
        if count > 1:
            yield (
                f"circuit.steps.{name}",
                name,
                say_many("{count} step has this name", "{count} steps have this name", count),
                say("a name of its own for each"),
                say("Number them."),
            )
    for step in circuit.steps:
        for switch, position in step.switches:
            place = f"circuit.steps.{step.name}.switches"
            if switch not in known:
                near = nearest(switch, list(known))
                hint = say('Did you mean "{near}"?', near=near) if near else ""
                yield place, switch, say("there is no such switch"), ", ".join(known), hint
            else:
                yield from _position(place, switch, position, known[switch])


def _position(place: str, switch: str, position: str, known: set[str]) -> Iterator[Disagreement]:
    """A position in which no contact does anything is fine, unless it looks like a slip."""
    if position in known or position in ALWAYS:
        return
    near = nearest(position, sorted({*known, *ALWAYS}))
    if near is not None:
        yield (
            f"{place}.{switch}",
            position,
            say("no contact of this switch knows such a position"),
            ", ".join(sorted(known)),
            say('Did you mean "{near}"?', near=near),
        )


NO_SUCH = {
    "lamp or buzzer": later("there is no such lamp or buzzer"),
    "lamp or movement": later("there is no such lamp or movement"),
    "look": later("there is no such look"),
    "fuse": later("there is no such fuse"),
    "node": later("there is no such node"),
    "operating step": later("there is no such operating step"),
    "part": later("there is no such part"),
    "path": later("there is no such path"),
    "relay": later("there is no such relay"),
    "state": later("there is no such state"),
}


def known_name(place: str, name: str, known: Iterable[str], what: str) -> Iterator[Disagreement]:
    """A name that is not among those known."""
    known = list(known)
    if name not in known:
        near = nearest(name, known)
        hint = say('Did you mean "{near}"?', near=near) if near else ""
        yield place, name, say(NO_SUCH[what]), ", ".join(known), hint


def node_names(circuit: Circuit) -> list[str]:
    """Every node that a part touches."""
    found: dict[str, None] = {}
    for part in circuit.parts:
        ends = [*getattr(part, "between", ()), *(node for _, node in getattr(part, "at", ()))]
        found.update(dict.fromkeys(ends))
    return list(found)


def _own_faults(circuit: Circuit) -> Iterator[Disagreement]:
    """A fault of the machine's own joins two nodes, and something is mended for it."""
    nodes, parts = node_names(circuit), [part.name for part in circuit.parts]
    for fault in circuit.faults:
        place = f"circuit.faults.{fault.name}"
        for node in fault.between:
            yield from known_name(f"{place}.between", node, nodes, "node")
        for part in fault.parts:
            yield from known_name(f"{place}.parts", part, parts, "part")
        if not fault.between and (fault.parts or fault.text):
            yield (
                f"{place}.between",
                "",
                say("a fault of this machine's own needs the two nodes that touch"),
                'between = ["Y.87", "15b"]',
                say("For the rate of a usual fault, leave text and parts out."),
            )
        if fault.between and not fault.parts:
            yield (
                f"{place}.parts",
                "",
                say("a fault of this machine's own needs the part that is mended for it"),
                'parts = ["W8"]',
                say("Name the wire that has chafed."),
            )
