"""What a catalogue says of its language itself; gathered with all the rest."""

from __future__ import annotations

from tripmargin.ground.languages.saying import say_as


def own_name() -> str:
    """The language's name for itself."""
    return say_as("name of this language", "English")


def decimal_sign() -> str:
    """The sign before decimals: a point or a comma."""
    return say_as("decimal sign", ".")
