"""Words of the FMEA table that no model gives: what a part is for, what breaks it.

Common practice, no source.
"""

from __future__ import annotations

from tripmargin.ground.languages import later, say

FUNCTION: dict[str, str] = {
    "battery": later("feeds the wiring"),
    "fuse": later("breaks the circuit when too much current flows"),
    "wire": later("carries current from one terminal to the next"),
    "connector": later("joins two wires so that they can be parted"),
    "ground": later("leads current back to the battery"),
    "resistor": later("limits current"),
    "load": later("uses current from the same supply"),
    "sensor": later("turns passing metal into a voltage"),
    "check winding": later("makes the sensor's voltage without metal, for the check"),
    "diode": later("lets current through one way"),
    "lamp": later("shows a state by light"),
    "led": later("shows a state by light"),
    "buzzer": later("shows a state by sound"),
    "switch": later("opens or closes a path, by hand or lever"),
    "relay": later("switches a large current by a small one"),
    "solenoid": later("holds the pawls off; lets them fall when it loses current"),
    "clutch": later("drives the rolls while it is fed"),
    "detector": later("tells metal from noise and keeps the trip"),
    "pawl springs": later("throw the pawls into the ratchets"),
    "pawl clearance": later("keeps the pawls off the ratchets, and near them"),
    "linkage": later("lets the plunger lift and drop the pawls"),
    "roll": later("carries the crop over the sensor, and is not magnetic"),
    "sensor position": later("keeps the sensor's face towards the crop"),
}
"""By a part's kind in the machine file, or by what is mended; to be said."""

MENDED = {
    "pawl springs": later("pawl springs"),
    "pawl clearance": later("pawl clearance"),
    "linkage": later("linkage"),
    "roll": later("roll"),
    "sensor position": later("sensor position"),
}
"""What is mended that is no part of the wiring, to be said."""

CAUSE: tuple[tuple[tuple[str, ...], str], ...] = (
    (("comes and goes",), later("strands broken inside, or a pin that has lost its spring")),
    (("chafed",), later("rubbed through on an edge")),
    (("corroded", "loose"), later("water, dirt, vibration")),
    (("welded", "stuck closed", "never switches off"), later("wear of the contact, or an arc")),
    (
        ("never closes", "does not conduct", "never switches on"),
        later("wear or dirt on the contact"),
    ),
    (("weak", "pulls late"), later("age")),
    (("fuse gone",), later("a short, or age")),
    (("blown", "dead"), later("age, vibration")),
    (("wrong way round",), later("fitted wrongly")),
    (("turns shorted", "shorted"), later("heat")),
    (("magnetised",), later("a magnet or welding current near the roll")),
    (("turned in",), later("a fastening that has come loose")),
    (("noise",), later("water or vibration in the module")),
    (("amplifies",), later("age of the module")),
    (("spring",), later("fatigue")),
    (("seized",), later("dirt, rust")),
    (("linkage",), later("wear, a lost pin")),
    (("too wide", "too narrow"), later("wear, or set wrongly")),
    (("joint open", "broken", "open", "does not touch"), later("vibration, corrosion")),
)
"""English words of a failure mode, and its usual cause, to be said; the first that fits counts."""


def cause_of(mode: str, comes_and_goes: bool) -> str:
    """The usual cause of a failure mode, whose English words are given.

    >>> cause_of("W3: wire chafed to ground", False)
    'rubbed through on an edge'
    """
    if comes_and_goes:
        return say(CAUSE[0][1])
    for words, cause in CAUSE:
        if any(word in mode for word in words):
            return say(cause)
    return say("not known")
