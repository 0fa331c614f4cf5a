"""Words of the FMEA table that no model gives: what a part is for, what breaks it.

Common practice, no source.
"""

from __future__ import annotations

FUNCTION: dict[str, str] = {
    "battery": "feeds the wiring",
    "fuse": "breaks the circuit when too much current flows",
    "wire": "carries current from one terminal to the next",
    "connector": "joins two wires so that they can be parted",
    "ground": "leads current back to the battery",
    "resistor": "limits current",
    "load": "uses current from the same supply",
    "sensor": "turns passing metal into a voltage",
    "check winding": "makes the sensor's voltage without metal, for the check",
    "diode": "lets current through one way",
    "lamp": "shows a state by light",
    "led": "shows a state by light",
    "buzzer": "shows a state by sound",
    "switch": "opens or closes a path, by hand or lever",
    "relay": "switches a large current by a small one",
    "solenoid": "holds the pawls off; lets them fall when it loses current",
    "clutch": "drives the rolls while it is fed",
    "detector": "tells metal from noise and keeps the trip",
    "pawl springs": "throw the pawls into the ratchets",
    "pawl clearance": "keeps the pawls off the ratchets, and near them",
    "linkage": "lets the plunger lift and drop the pawls",
    "roll": "carries the crop over the sensor, and is not magnetic",
    "sensor position": "keeps the sensor's face towards the crop",
}
"""By a part's kind in the machine file, or by what is mended."""

CAUSE: tuple[tuple[tuple[str, ...], str], ...] = (
    (("comes and goes",), "strands broken inside, or a pin that has lost its spring"),
    (("chafed",), "rubbed through on an edge"),
    (("corroded", "loose"), "water, dirt, vibration"),
    (("welded", "stuck closed", "never switches off"), "wear of the contact, or an arc"),
    (("never closes", "does not conduct", "never switches on"), "wear or dirt on the contact"),
    (("weak", "pulls late"), "age"),
    (("fuse gone",), "a short, or age"),
    (("blown", "dead"), "age, vibration"),
    (("wrong way round",), "fitted wrongly"),
    (("turns shorted", "shorted"), "heat"),
    (("magnetised",), "a magnet or welding current near the roll"),
    (("turned in",), "a fastening that has come loose"),
    (("noise",), "water or vibration in the module"),
    (("amplifies",), "age of the module"),
    (("spring",), "fatigue"),
    (("seized",), "dirt, rust"),
    (("linkage",), "wear, a lost pin"),
    (("too wide", "too narrow"), "wear, or set wrongly"),
    (("joint open", "broken", "open", "does not touch"), "vibration, corrosion"),
)
"""Words of a failure mode, and its usual cause; the first that fits counts."""


def cause_of(mode: str, comes_and_goes: bool) -> str:
    """The usual cause of a failure mode.

    >>> cause_of("W3: wire chafed to ground", False)
    'rubbed through on an edge'
    """
    if comes_and_goes:
        return CAUSE[0][1]
    for words, cause in CAUSE:
        if any(word in mode for word in words):
            return cause
    return "not known"
