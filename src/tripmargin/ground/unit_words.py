"""Dimensions and units in words, for every language."""

from __future__ import annotations

from tripmargin.ground.languages import say_as


def dimension_words(name: str) -> str:
    """What a kind of quantity is called, as it stands in a sentence.

    >>> dimension_words("length"), dimension_words("running hours")
    ('length', 'running hours')
    """
    return _DIMENSIONS[name]()


_DIMENSIONS = {
    "length": lambda: say_as("kind of quantity", "length"),
    "area": lambda: say_as("kind of quantity", "area"),
    "time": lambda: say_as("kind of quantity", "time"),
    "duration": lambda: say_as("kind of quantity", "duration"),
    "running hours": lambda: say_as("kind of quantity", "running hours"),
    "days": lambda: say_as("kind of quantity", "days"),
    "rotation": lambda: say_as("kind of quantity", "rotation"),
    "speed": lambda: say_as("kind of quantity", "speed"),
    "frequency": lambda: say_as("kind of quantity", "frequency"),
    "voltage": lambda: say_as("kind of quantity", "voltage"),
    "power": lambda: say_as("kind of quantity", "power"),
    "current": lambda: say_as("kind of quantity", "current"),
    "resistance": lambda: say_as("kind of quantity", "resistance"),
    "inductance": lambda: say_as("kind of quantity", "inductance"),
    "flux density": lambda: say_as("kind of quantity", "flux density"),
    "angle": lambda: say_as("kind of quantity", "angle"),
    "fraction": lambda: say_as("kind of quantity", "fraction"),
    "mass": lambda: say_as("kind of quantity", "mass"),
    "force": lambda: say_as("kind of quantity", "force"),
    "stiffness": lambda: say_as("kind of quantity", "stiffness"),
    "damping": lambda: say_as("kind of quantity", "damping"),
    "torque": lambda: say_as("kind of quantity", "torque"),
    "torsional stiffness": lambda: say_as("kind of quantity", "torsional stiffness"),
    "torsional damping": lambda: say_as("kind of quantity", "torsional damping"),
    "moment of inertia": lambda: say_as("kind of quantity", "moment of inertia"),
    "temperature": lambda: say_as("kind of quantity", "temperature"),
    "number": lambda: say_as("kind of quantity", "number"),
}


def unit_words(unit: str) -> str:
    """A unit as the reader's language writes it; most are symbols that all write alike.

    >>> unit_words("rpm"), unit_words("mm")
    ('rpm', 'mm')
    """
    return _UNITS[unit]() if unit in _UNITS else unit


_UNITS = {
    "rpm": lambda: say_as("unit", "rpm"),
    "rev/s": lambda: say_as("unit", "rev/s"),
    "ohm": lambda: say_as("unit", "ohm"),
    "kohm": lambda: say_as("unit", "kohm"),
    "Mohm": lambda: say_as("unit", "Mohm"),
    "degC": lambda: say_as("unit", "degC"),
    "degF": lambda: say_as("unit", "degF"),
    "deg": lambda: say_as("unit", "deg"),
    "in": lambda: say_as("unit", "in"),
}
