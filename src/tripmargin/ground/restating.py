"""A quantity said anew with another value: in the unit that was used, with its own tolerance."""

from __future__ import annotations

import re

from tripmargin.ground.quantities import _NUMBER, _ONE, _SD, _TOLERANCE, Quantity
from tripmargin.ground.units import DIMENSIONS, from_si

_DIGITS = 6


def restated(
    given: Quantity, value: float, *, least: float | None = None, most: float | None = None
) -> str:
    """The text of a quantity whose middle is another one: that it moved makes it no better known.

    Parameters
    ----------
    given : Quantity
        As it was; its unit and its tolerance are kept as they were written.
    value : float, SI
        The new middle.
    least, most : float, SI, optional
        What the quantity cannot pass. Limits that would are cut off there, and the middle between
        them is then no more `value`.

    Examples
    --------
    >>> from tripmargin.ground.quantities import quantity
    >>> restated(quantity("3.4 mm +- 0.4 mm", "length"), 0.0052)
    '5.2 mm +- 0.4 mm'
    >>> restated(quantity("2 ms .. 4 ms", "time"), 0.004), restated(quantity("1 in", "length"), 0.1)
    ('3 ms .. 5 ms', '3.93701 in')
    >>> restated(quantity("3.4 mm +- 0.4 mm", "length"), 0.0002, least=0.0)
    '0 mm .. 0.6 mm'
    """
    parts = _TOLERANCE.split(_SD.sub("", given.text))
    unit = _unit_of(parts[0], given.dimension)
    tail = " (sd)" if given.shape == "normal" else ""
    half = (given.high - given.low) / 2
    if len(parts) == 2 and re.fullmatch(rf"\s*{_NUMBER}\s*%\s*", parts[1]):
        share = half / abs(given.nominal) if given.dimension != "fraction" else None
        half = half if share is None else share * abs(value)
    low, high = value - half, value + half
    if not tail and given.uncertain:
        cut = (
            low if least is None else max(low, min(least, value)),
            high if most is None else min(high, max(most, value)),
        )
        if cut != (low, high):
            return " .. ".join(_said(end, given.dimension, unit) for end in cut)
    middle = _said(value, given.dimension, unit)
    if len(parts) == 2:
        return f"{middle} +- {parts[1].strip()}{tail}"
    if not given.uncertain:
        return middle
    return " .. ".join(_said(end, given.dimension, unit) for end in (low, high))


def _unit_of(text: str, dimension: str) -> str:
    """The unit of the first number; the usual one where the text is none of a person's."""
    match = _ONE.fullmatch(text.split("..")[0].strip())
    unit = " ".join((match["unit"] or "").split()) if match else ""
    kind = DIMENSIONS[dimension]
    return unit if unit in kind.units else kind.metric


def _said(value: float, dimension: str, unit: str) -> str:
    number = f"{from_si(value, dimension, unit):.{_DIGITS}g}"
    if "e" in number:
        from decimal import Decimal

        number = f"{Decimal(number):f}"
    return f"{number} {unit}".strip()
