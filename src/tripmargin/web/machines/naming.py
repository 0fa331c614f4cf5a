"""What the trade calls a field of the machine file."""

from __future__ import annotations

import re

from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.machine.rewriting import field_spec
from tripmargin.web.machines.field_words import field_said

_OF_PART = (
    (r"chain\.pawls\.(?P<name>.+?)\.", later("{field}, {name} pawl")),
    (r"chain\.hold_winding\.suppression\.", later("{field}, suppression of the hold winding")),
    (r"chain\.hold_winding\.", later("{field}, hold winding")),
    (r"chain\.plunger\.", later("{field}, plunger")),
    (r"chain\.rest\.", later("{field}, rolls coming to rest")),
    (r"sensor\.assemblies\.(?P<name>\d+)\.magnet\.", later("{field}, magnet {name}")),
    (r"sensor\.assemblies\.(?P<name>\d+)\.coil\.", later("{field}, winding {name}")),
    (r"sensor\.keeper\.", later("{field}, keeper of the sensor")),
    (r"sensor\.", later("{field}, sensor")),
    (r"detector\.", later("{field}, detector")),
)
_WORDS = {
    "feed.slip": later("Slip of the crop against the rolls"),
    "feed.sensor_to_shear_bar": later("Way from the sensor to the shear bar"),
    "feed.crop_depth": later("Opening between the front rolls"),
    "chain.supply": later("Supply voltage at the hold winding"),
    "chain.relay_release": later("Release time of the relay"),
    "chain.hold_winding.suppression": later("What is fitted across the hold winding"),
    "chain.plunger.travel_time": later("Fall time of the plunger"),
    "chain.rest.roll_angle": later("Turn of the rolls from the catch to rest"),
    "detector.decision_delay": later("Time that the detector takes to decide"),
}


def called(path: str) -> str:
    """A field by its name in the trade.

    >>> called("chain.pawls.lower.clearance"), called("feed.slip")
    ('Clearance, lower pawl', 'Slip of the crop against the rolls')
    >>> called("chain.pawls.upper.swing_time.time"), called("sensor.assemblies.0.magnet.remanence")
    ('Swing time, upper pawl', 'Remanence, magnet 1')
    """
    if path in _WORDS:
        return say(_WORDS[path])
    last = "swing_time" if path.endswith(".swing_time.time") else path.rpartition(".")[2]
    for pattern, message in _OF_PART:
        if match := re.match(pattern, path):
            name = match.groupdict().get("name", "")
            counted = str(int(name) + 1) if name.isdecimal() else as_written(name)
            return say(message, field=field_said(last), name=counted)
    return field_said(last)


def meaning(path: str) -> str:
    """What a field is, in a few words; empty for one that no machine file has."""
    try:
        return say(field_spec(path).meaning)
    except MachineFileError:
        return ""
