"""What the trade calls a field of the machine file."""

from __future__ import annotations

import re

from tripmargin.ground.errors import MachineFileError
from tripmargin.machine.rewriting import field_spec

_OF_PART = (
    (r"chain\.pawls\.(?P<name>.+?)\.(parts|swing_time)\.", "{name} pawl"),
    (r"chain\.pawls\.(?P<name>.+?)\.", "{name} pawl"),
    (r"chain\.hold_winding\.suppression\.", "suppression of the hold winding"),
    (r"chain\.hold_winding\.", "hold winding"),
    (r"chain\.plunger\.(parts\.)?", "plunger"),
    (r"chain\.rest\.(parts\.)?", "rolls coming to rest"),
    (r"sensor\.assemblies\.(?P<name>\d+)\.magnet\.", "magnet {name}"),
    (r"sensor\.assemblies\.(?P<name>\d+)\.coil\.", "winding {name}"),
    (r"sensor\.keeper\.", "keeper of the sensor"),
    (r"sensor\.", "sensor"),
    (r"detector\.", "detector"),
)
_WORDS = {
    "feed.slip": "Slip of the crop against the rolls",
    "feed.sensor_to_shear_bar": "Way from the sensor to the shear bar",
    "feed.crop_depth": "Opening between the front rolls",
    "chain.supply": "Supply voltage at the hold winding",
    "chain.relay_release": "Release time of the relay",
    "chain.hold_winding.suppression": "What is fitted across the hold winding",
    "chain.plunger.travel_time": "Fall time of the plunger",
    "chain.rest.roll_angle": "Turn of the rolls from the catch to rest",
    "detector.decision_delay": "Time that the detector takes to decide",
}


def called(path: str) -> str:
    """A field by its name in the trade.

    >>> called("chain.pawls.lower.clearance"), called("feed.slip")
    ('Clearance, lower pawl', 'Slip of the crop against the rolls')
    >>> called("chain.pawls.upper.swing_time.time"), called("sensor.assemblies.0.magnet.remanence")
    ('Swing time, upper pawl', 'Remanence, magnet 1')
    """
    if path in _WORDS:
        return _WORDS[path]
    last = "swing time" if path.endswith(".swing_time.time") else path.rpartition(".")[2]
    words = last.replace("_", " ").capitalize()
    for pattern, part in _OF_PART:
        if match := re.match(pattern, path):
            name = match.groupdict().get("name", "")
            counted = str(int(name) + 1) if name.isdecimal() else name
            return f"{words}, {part.format(name=counted)}"
    return words


def meaning(path: str) -> str:
    """What a field is, in a few words; empty for one that no machine file has."""
    try:
        return field_spec(path).meaning
    except MachineFileError:
        return ""
