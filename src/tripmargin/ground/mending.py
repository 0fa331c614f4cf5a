"""What is wrong with a quantity as somebody wrote it, and how to mend it."""

from __future__ import annotations

import re

from tripmargin.ground.decimal_commas import meant_by
from tripmargin.ground.errors import QuantityError, nearest, shortened
from tripmargin.ground.languages import say
from tripmargin.ground.units import DIMENSIONS, Dimension


def refuse_decimal_commas(text: str, kind: Dimension) -> None:
    """Refuse a comma inside a number: it may part decimals or thousands.

    Raises
    ------
    QuantityError
        If there is one.
    """
    if re.search(r"\d,\d", text):
        meant = meant_by(text)
        mended = shortened(meant[0] if meant else re.sub(r"(?<=\d),(?=\d)", ".", text))
        hint = say(
            'If the comma is a decimal sign, write "{mended}"; leave out commas between thousands.',
            mended=mended,
        )
        if meant and re.search(r"\d,\d+,\d|\d\.\d+,\d", text):
            hint = say('Write "{mended}", without a sign between thousands.', mended=mended)
        raise QuantityError(
            text,
            say("a comma inside a number"),
            say("a decimal point, such as {example}", example=say(kind.example)),
            hint,
        )


def unit_fault(unit: str, kind: Dimension) -> str:
    """What is wrong with a unit that the dimension does not know."""
    for other in DIMENSIONS.values():
        if unit in other.units and other.name != kind.name:
            return say(
                '"{unit}" is a unit of {other}, not of {kind}',
                unit=shortened(unit),
                other=other.words,
                kind=kind.words,
            )
    return say(
        '"{unit}" is not a unit of {kind} known here',
        unit=shortened(unit),
        kind=kind.words,
    )


def unit_hint(unit: str, kind: Dimension) -> str:
    """Which unit may be meant, and which there are."""
    known = [name for name in kind.units if name]
    found = nearest(unit, known) or next((k for k in known if k.lower() == unit.lower()), None)
    if not known:
        return say("Write the bare number.")
    if not found:
        return say("Units of {kind}: {known}.", kind=kind.words, known=", ".join(known))
    return say(
        'Did you mean "{found}"? Units of {kind}: {known}.',
        found=found,
        kind=kind.words,
        known=", ".join(known),
    )
