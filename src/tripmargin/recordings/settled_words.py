"""Words for what reading had to settle, and for what it was taken for."""

from __future__ import annotations

from tripmargin.ground.languages import say_as


def thing_said(what: str) -> str:
    """What had to be settled, as people read it; a thing without words here as it stands.

    >>> thing_said("decimal sign")
    'decimal sign'
    """
    named = {
        "channel": say_as("settled", "channel"),
        "dates": say_as("settled", "dates"),
        "decimal sign": say_as("settled", "decimal sign"),
        "delimiter": say_as("settled", "delimiter"),
        "encoding": say_as("settled", "encoding"),
        "group": say_as("settled", "group"),
        "header": say_as("settled", "header"),
        "kind": say_as("settled", "kind"),
        "left out": say_as("settled", "left out"),
        "rate": say_as("settled", "rate"),
        "recorded at": say_as("settled", "recorded at"),
        "roll pickup": say_as("settled", "roll pickup"),
        "roll pickup's kind": say_as("settled", "roll pickup's kind"),
        "roll sensor": say_as("settled", "roll sensor"),
        "roll sensor's kind": say_as("settled", "roll sensor's kind"),
        "thousands sign": say_as("settled", "thousands sign"),
        "time": say_as("settled", "time"),
        "times": say_as("settled", "times"),
        "trip line": say_as("settled", "trip line"),
        "turns of the roll": say_as("settled", "turns of the roll"),
        "unit": say_as("settled", "unit"),
        "unit of time": say_as("settled", "unit of time"),
    }
    return named.get(what, what)


def taken_said(what: str, value: str) -> str:
    """What it was taken for, where that is a word and no name, number or unit.

    >>> taken_said("decimal sign", "comma"), taken_said("channel", "comma")
    ('comma', 'comma')
    """
    if what in ("decimal sign", "delimiter", "thousands sign"):
        return _sign_said(value)
    named = {
        ("dates", "day first"): say_as("settled", "day first"),
        ("dates", "month first"): say_as("settled", "month first"),
        ("recorded at", "coil"): say_as("settled", "coil"),
        ("recorded at", "output"): say_as("settled", "output"),
        ("roll pickup's kind", "angle"): say_as("settled", "angle"),
        ("roll pickup's kind", "pulses"): say_as("settled", "pulses"),
        ("roll sensor's kind", "pulses"): say_as("settled", "pulses"),
        ("roll sensor's kind", "speed"): say_as("settled", "speed"),
    }
    return named.get((what, value), value)


def _sign_said(sign: str) -> str:
    named = {
        "apostrophe": say_as("sign", "apostrophe"),
        "bar": say_as("sign", "bar"),
        "comma": say_as("sign", "comma"),
        "none": say_as("sign", "none"),
        "point": say_as("sign", "point"),
        "semicolon": say_as("sign", "semicolon"),
        "space": say_as("sign", "space"),
        "tab": say_as("sign", "tab"),
    }
    return named.get(sign, sign)
