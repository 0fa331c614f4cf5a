"""What the parts of a circuit carry and show at a step, in words and numbers."""

from __future__ import annotations

import re

from tripmargin.circuit import HEARD, Buzzer, Contact, Fuse, Network, Part, RelayCoil, State
from tripmargin.circuit.parts import INDICATORS, original
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.ground.languages import later, numeral, say, say_as
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.words import plain_number

LIVE_AMPS = 1e-4
"""A. From here on a part counts as carrying current: a sensor's lead carries some tenths of a
milliampere and matters, what leaks through an open contact is a thousand times less."""

KINDS = (
    later("source"),
    later("resistor"),
    later("wire"),
    later("fuse"),
    later("connector"),
    later("ground"),
    later("load"),
    later("winding"),
    later("coil"),
    later("suppression"),
    later("lamp"),
    later("buzzer"),
    later("diode"),
    later("led"),
    later("contact"),
    later("failed part"),
)
"""Kinds of parts, as the table names them."""

VOLTAGE = 1.0  # V, from here on an end counts as under voltage

_MARK_NAMES = ("live", "under voltage", "dead")
_TERMINAL = re.compile(r"(?:15|30|31|49a?|5[0-9]|8[5-8])[a-z]?")  # DIN 72552, from memory


def mark_of(part: Part, state: State) -> str:
    """What a part carries: "live" (current), "under voltage" (no current), or "dead"."""
    if abs(state.currents[part.name]) >= LIVE_AMPS:
        return _MARK_NAMES[0]
    if max(abs(state.voltages[node]) for node in (part.p, part.n)) > VOLTAGE:
        return _MARK_NAMES[1]
    return _MARK_NAMES[2]


def flow_of(part: Part, state: State) -> float:
    """Current inside a part from p to n, A: a source's is what it delivers, turned round."""
    amps = state.currents[part.name]
    return -amps if part.kind == "source" else amps


def shows_of(part: Part, network: Network, state: State) -> str:
    """What a person sees or hears of a part, or how it stands; empty for those that show nothing.

    Lamps and buzzers "on", "dim", "off" or "flicker"; contacts "closed" or "open"; a relay's coil
    "pulled" or "at rest"; a fuse "blown" or "whole"; the windings of solenoid and clutches what
    they move.
    """
    fitted, mechanism = original(part), network.mechanism
    if isinstance(fitted, INDICATORS):
        return state.lamps.get(part.name, "off")
    if isinstance(fitted, Contact):
        return "closed" if part.name in state.closed else "open"
    if isinstance(fitted, Fuse):
        return "blown" if part.name in state.fuses_blown else "whole"
    if isinstance(fitted, RelayCoil):
        relay = next((each for each in network.relays if each.coil == part.name), None)
        return "" if relay is None else "pulled" if state.relays[relay.name] else "at rest"
    if mechanism is not None and part.name == mechanism.hold:
        return f"plunger {state.plunger_word}"
    if mechanism is not None and part.name in (mechanism.forward, mechanism.reverse):
        least = mechanism.clutch_min
        if part.name == mechanism.reverse and mechanism.reverse_min is not None:
            least = mechanism.reverse_min
        return "grips" if abs(state.currents[part.name]) >= max(least, LIVE_AMPS) else "lets go"
    return ""


def said_of(part: Part, network: Network, state: State) -> str:
    """The same in people's words: a buzzer is not on, it sounds."""
    shows = shows_of(part, network, state)
    return shown_words(HEARD.get(shows, shows) if isinstance(original(part), Buzzer) else shows)


def shown_words(shows: str) -> str:
    """What a part shows, by the word that `shows_of` gives.

    >>> shown_words("at rest"), shown_words("plunger held")
    ('at rest', 'plunger held')
    """
    known = {
        "closed": say_as("contact", "closed"),
        "open": say_as("contact", "open"),
        "blown": say_as("fuse", "blown"),
        "pulled": say_as("relay", "pulled"),
        "at rest": say_as("relay", "at rest"),
        "plunger pulled": say("plunger pulled"),
        "plunger held": say("plunger held"),
        "plunger dropped": say("plunger dropped"),
        "grips": say_as("clutch", "grips"),
        "lets go": say_as("clutch", "lets go"),
    }
    return known.get(shows) or word_said(shows)


def differences(network: Network, state: State, healthy: State) -> list[tuple[str, str, str]]:
    """Parts that show something else than on a sound machine: name, what it shows, what it should.

    A part that the sound machine does not have is left out.
    """
    found = []
    for part in network.parts:
        if part.name in healthy.currents:
            now, sound = said_of(part, network, state), said_of(part, network, healthy)
            if now != sound:
                found.append((part.name, now, sound))
    return found


def amps(value: float) -> str:
    """A current, A or mA.

    >>> amps(5.4213), amps(0.1543), amps(0.00066), amps(1e-8)
    ('5.42 A', '154 mA', '0.66 mA', '0 A')
    """
    size = abs(value)
    if size < LIVE_AMPS:
        return "0 A"
    return f"{plain_number(size)} A" if size >= 0.9995 else f"{plain_number(size * 1e3)} mA"


def volts(value: float) -> str:
    """A voltage with two decimals, V.

    >>> volts(13.924), volts(-0.804), volts(-1e-9)
    ('13.92 V', '\N{MINUS SIGN}0.80 V', '0.00 V')
    """
    text = f"{numeral(abs(value), '.2f')} V"
    return f"\N{MINUS SIGN}{text}" if value <= -0.005 else text


def terminal_of(part: Part, node: str) -> str:
    """The number of a part's terminal by DIN 72552, where the node at it bears one.

    >>> from tripmargin.circuit import RelayCoil
    >>> terminal_of(RelayCoil("K1.coil", "K1.86", "31"), "K1.86")
    '86'
    """
    device, _, terminal = node.rpartition(".")
    if device and part.name.partition(".")[0] == device and _TERMINAL.fullmatch(terminal):
        return terminal
    return ""


def check_fits(network: Network, state: State) -> None:
    """Raise ValueError where a state is not one of this network."""
    lacks = [node for node in network.nodes if node not in state.voltages]
    lacks += [part.name for part in network.parts if part.name not in state.currents]
    if lacks:
        more = "" if len(lacks) <= 4 else f" and {len(lacks) - 4} more"
        raise ValueError(
            f'step "{state.step}" says nothing of {", ".join(lacks[:4])}{more}: '
            "it is the state of another circuit."
        )


def step_words(network: Network, state: State, rail: str) -> str:
    """What a picture of a step shows, in one line; more where the circuit does not come to rest."""
    told = [
        say(
            'Step "{step}": {volts} on rail {rail}',
            step=as_written(state.step),
            volts=volts(state.voltages[rail]),
            rail=rail,
        )
    ]
    if network.detector is not None:
        supply = volts(state.supply)
        if state.tripped:
            told.append(say("module tripped, {volts} between its terminals", volts=supply))
        else:
            told.append(say("module armed, {volts} between its terminals", volts=supply))
    if network.mechanism is not None:
        plunger = shown_words(f"plunger {state.plunger_word}")
        if state.pawls == "in":
            told.append(say("{plunger}, pawls in the ratchets", plunger=plunger))
        else:
            told.append(say("{plunger}, pawls out of the ratchets", plunger=plunger))
        told.append(say(_ROLLS[state.rolls]))
    whole = f"{'; '.join(told)}."
    if not state.alternates:
        return whole
    parts = ", ".join(map(_moving, state.alternates))
    rest = say(
        "It does not come to rest: {parts} to and fro. The picture is one moment of it.",
        parts=parts,
    )
    return f"{whole} {rest}"


def _moving(name: str) -> str:
    """What goes to and fro, by the circuit's name for it."""
    if name == "latch":
        return say("the module's latch")
    if name == "in_range":
        return say("the module's supply")
    return name.replace(":", " ")


_ROLLS = {
    "forward": later("rolls run forward"),
    "reverse": later("rolls run in reverse"),
    "stopped": later("rolls stand"),
    "jerking": later("rolls jerk"),
}
