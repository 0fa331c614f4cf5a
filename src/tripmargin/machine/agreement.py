"""Fields that must agree with each other, whatever each says alone."""

from __future__ import annotations

from collections.abc import Iterator

from tripmargin.ground.languages import say
from tripmargin.ground.languages.lists import listed
from tripmargin.machine.adjuster_section import OF_A_CLAMP, OF_A_CLEVIS, PawlAdjuster
from tripmargin.machine.chain_sections import Chain, Suppression
from tripmargin.machine.check_agreement import check_disagreements
from tripmargin.machine.circuit_agreement import circuit_disagreements
from tripmargin.machine.measured_section import measured_disagreements
from tripmargin.machine.model import Machine
from tripmargin.machine.sensing_sections import Assembly, Detector, Sensor

# field, value seen, problem, allowed, hint
Disagreement = tuple[str, str, str, str, str]


def disagreements(machine: Machine, *, wiring: bool = True) -> Iterator[Disagreement]:
    """Every pair of fields that contradict each other; those of the wiring only if it is new."""
    if machine.sensor is not None:
        yield from _sensor(machine.sensor)
    if machine.detector is not None:
        yield from _detector(machine.detector)
    if machine.chain is not None:
        yield from _chain(machine.chain)
    yield from _roll(machine)
    yield from measured_disagreements(machine)
    if wiring and machine.circuit is not None:
        yield from circuit_disagreements(machine.circuit)
    if wiring and machine.checks is not None:
        yield from check_disagreements(machine.checks, machine.circuit)


def _roll(machine: Machine) -> Iterator[Disagreement]:
    """The sensor must fit inside its roll."""
    feed, sensor = machine.feed, machine.sensor
    if feed is None or sensor is None or feed.roll_diameter is None:
        return
    radius = feed.roll_diameter.high / 2
    for index, assembly in enumerate(sensor.assemblies):
        top = assembly.centre[2].nominal
        if assembly.magnet is not None:
            top += assembly.magnet.size[2].nominal / 2
        if top >= radius:
            yield (
                f"sensor.assemblies.{index}.centre",
                assembly.centre[2].text,
                say("the magnet's top at {top:.0f} mm stands out of the roll", top=top * 1e3),
                say("a top below {radius:.0f} mm, half of feed.roll_diameter", radius=radius * 1e3),
                say("Measure from the roll's axis, not from the bottom of the housing."),
            )


def _sensor(sensor: Sensor) -> Iterator[Disagreement]:
    for index, assembly in enumerate(sensor.assemblies):
        yield from _assembly(assembly, f"sensor.assemblies.{index}")


def _assembly(assembly: Assembly, place: str) -> Iterator[Disagreement]:
    coil = assembly.coil
    if coil is None:
        return
    for axis, inner, outer in zip("xy", coil.inner, coil.outer, strict=True):
        if inner.nominal >= outer.nominal:
            yield (
                f"{place}.coil.outer",
                outer.text,
                say(
                    "not outside the inner rectangle along {axis} ({inner})",
                    axis=axis,
                    inner=inner.text,
                ),
                say("an outer rectangle larger than the inner one"),
                say("Swap inner and outer?"),
            )


def _detector(detector: Detector) -> Iterator[Disagreement]:
    low, high = detector.low_cut, detector.high_cut
    if low is not None and high is not None and low.nominal >= high.nominal:
        yield (
            "detector.low_cut",
            low.text,
            say("not below high_cut ({high_cut})", high_cut=high.text),
            say("a low_cut below high_cut"),
            say("Swap the two?"),
        )


def _chain(chain: Chain) -> Iterator[Disagreement]:
    yield from _suppression(chain.hold_winding.suppression)
    names = [pawl.name for pawl in chain.pawls]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield (
            "chain.pawls",
            name,
            say('two pawls are called "{name}"', name=name),
            say("a name of its own for each"),
            say('Call them "lower" and "upper".'),
        )
    for name in names:
        if name.isdecimal() or "." in name:
            yield (
                f"chain.pawls.{name}",
                name,
                say("a pawl's name may not be a number or hold a point"),
                say("a word such as lower"),
                "",
            )
    for pawl in chain.pawls:
        if pawl.adjuster is not None:
            yield from _adjuster(pawl.adjuster, f"chain.pawls.{pawl.name}.adjuster")


def _adjuster(adjuster: PawlAdjuster, place: str) -> Iterator[Disagreement]:
    """A clamp has no thread, and nobody places a clevis by hand."""
    others = OF_A_CLEVIS if adjuster.kind == "clamp" else OF_A_CLAMP
    own = OF_A_CLAMP if adjuster.kind == "clamp" else OF_A_CLEVIS
    for name in others:
        value = getattr(adjuster, name)
        if value is not None:
            yield (
                f"{place}.{name}",
                value if isinstance(value, str) else value.text,
                say("a {kind} has no {name}", kind=adjuster.kind, name=name),
                say("for a {kind}: {names}", kind=adjuster.kind, names=", ".join(own)),
                say("Take it out, or mend the kind."),
            )


def _suppression(suppression: Suppression) -> Iterator[Disagreement]:
    place = "chain.hold_winding.suppression"
    wants = {"resistor": "resistance", "diode": "voltage", "zener": "voltage"}.get(suppression.kind)
    given = {"resistance": suppression.resistance, "voltage": suppression.voltage}
    if wants is not None and given[wants] is None:
        yield (
            place,
            suppression.kind,
            say('kind "{kind}" needs its {wants}', kind=suppression.kind, wants=wants),
            listed(
                (
                    '{ kind = "resistor", resistance = "82 ohm" }',
                    '{ kind = "diode", voltage = "0.8 V" }',
                ),
                "or",
            ),
            "",
        )
    for name, value in given.items():
        if value is not None and name != wants:
            yield (
                f"{place}.{name}",
                value.text,
                say('kind "{kind}" takes no {name}', kind=suppression.kind, name=name),
                say("no such key") if wants is None else wants,
                say("Take it out, or mend the kind."),
            )
