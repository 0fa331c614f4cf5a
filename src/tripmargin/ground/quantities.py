"""Quantities as people write them: a number, a unit, and how far off it may be.

`"330 mm"` is exact; `"330 mm +- 4 mm"`, `"1000 rpm +- 2 %"` and `"0 % .. 6 %"` are limits, taken as
a rectangular distribution between them (JCGM 100:2008, 4.3.7); `"3.5 mm +- 0.4 mm (sd)"` is normal.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from math import isfinite, sqrt
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.errors import QuantityError
from tripmargin.ground.languages import numeral, say
from tripmargin.ground.mending import refuse_decimal_commas, unit_fault, unit_hint
from tripmargin.ground.unit_words import unit_words
from tripmargin.ground.units import DIMENSIONS, Dimension, from_si, shown, written

Shape = Literal["exact", "rectangular", "normal"]
Source = Literal["given", "assumed"]

# A person's number: digits and a decimal point, or inches as a rule shows them ("13 1/4").
_PLAIN = r"[+-]?(?:\d+(?:\.\d+|\.(?!\.))?|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBER = rf"[+-]?\d+/\d+|{_PLAIN}(?:[ -]\d+/\d+)?"
_ONE = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>[^\d\s+./][^+±]*?)?\s*")
_TOLERANCE = re.compile(r"\s*(?:\+-|\+/-|±)\s*")
LONGEST = 200  # letters of one quantity
_SD = re.compile(r"\s*\(sd\)\s*$")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in SI with its limits and where it came from.

    Attributes
    ----------
    nominal, low, high : float, SI
        The middle and the limits; for a normal distribution the limits are 2 standard deviations
        either side.
    shape : "exact", "rectangular" or "normal"
    dimension : str
        A key of `ground.units.DIMENSIONS`.
    text : str
        As the person wrote it.
    source : "given" or "assumed"
    """

    nominal: float
    low: float
    high: float
    shape: Shape = "exact"
    dimension: str = "number"
    text: str = ""
    source: Source = "given"

    @classmethod
    def exact(cls, value: float, dimension: str = "number", text: str = "") -> Quantity:
        """A value without doubt, in SI."""
        return cls(value, value, value, "exact", dimension, text or written(value, dimension))

    @property
    def sd(self) -> float:
        """Standard deviation, SI: half the width over sqrt 3 between limits (JCGM 100, 4.3.7)."""
        if self.shape == "normal":
            return (self.high - self.low) / 4
        return (self.high - self.low) / sqrt(12.0)

    @property
    def uncertain(self) -> bool:
        """Whether it may be off at all."""
        return self.high > self.low

    def ppf(self, probability: ArrayLike) -> NDArray[np.float64]:
        """The value below which it lies with a given probability, SI; shape of `probability`."""
        p = np.asarray(probability, dtype=float)
        if self.shape == "normal":
            from scipy.special import ndtri

            return np.asarray(self.nominal + self.sd * ndtri(p))
        return self.low + p * (self.high - self.low)

    def assumed(self) -> Quantity:
        """The same value, marked as assumed."""
        return replace(self, source="assumed")

    def shown(self, *, us: bool = False) -> str:
        """The value and its limits in metric or US units.

        >>> quantity("330 mm +- 4 mm", "length").shown(us=True)
        '12.99 in +- 0.1575 in'
        """
        if not self.uncertain:
            return shown(self.nominal, self.dimension, us=us)
        half, unit, tail = self._half(us=us)
        middle = shown(self.nominal, self.dimension, us=us)
        return f"{middle} +- {numeral(half, '.4g')} {unit_words(unit)}".rstrip() + tail

    def written(self) -> str:
        """The value and its limits as they are written into a file, whatever the language.

        >>> quantity("32.5 mm +- 0.5 mm", "length").written()
        '32.5 mm +- 0.5 mm'
        """
        middle = written(self.nominal, self.dimension)
        if not self.uncertain:
            return middle
        half, unit, tail = self._half(us=False)
        return f"{middle} +- {half:.4g} {unit}".rstrip() + tail

    def _half(self, *, us: bool) -> tuple[float, str, str]:
        """What stands behind +-, its unit, and what says that it is a standard deviation."""
        chosen = DIMENSIONS[self.dimension]
        unit = chosen.us if us else chosen.metric
        half = (self.high - self.low) / 2 / chosen.units[unit].factor
        return (half / 2, unit, " (sd)") if self.shape == "normal" else (half, unit, "")

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "nominal": self.nominal,
            "low": self.low,
            "high": self.high,
            "shape": self.shape,
            "unit": DIMENSIONS[self.dimension].si,
            "text": self.text,
            "source": self.source,
        }


def quantity(text: str, dimension: str) -> Quantity:
    """Read a quantity as a person wrote it.

    Parameters
    ----------
    text : str
        "330 mm", "330 mm +- 4 mm", "1000 rpm +- 2 %", "2 ms .. 4 ms", "3.5 mm +- 0.4 mm (sd)",
        "13 1/4 in".
    dimension : str
        A key of `ground.units.DIMENSIONS`.

    Returns
    -------
    Quantity
        In SI, without range checks: those belong to the field that holds it.

    Raises
    ------
    QuantityError
        If a number or a unit is missing, unknown, of another kind, not finite, or the limits are
        swapped.

    Examples
    --------
    >>> quantity("2 ms .. 4 ms", "time").nominal
    0.003
    >>> q = quantity("1000 rpm +- 2 %", "rotation")
    >>> round(q.low * 60), round(q.high * 60)
    (980, 1020)
    """
    kind = DIMENSIONS[dimension]
    if len(text) > LONGEST:
        raise QuantityError(
            text,
            say("more than {most} letters long", most=LONGEST),
            say("such as {example}", example=say(kind.example)),
        )
    refuse_decimal_commas(text, kind)
    plain, sd = _SD.subn("", text)
    if ".." in plain:
        if sd:
            raise QuantityError(
                text,
                say("(sd) goes with +-, not with .."),
                say(kind.example),
                say('Write "a +- b (sd)".'),
            )
        return _between(text, plain, kind)
    parts = _TOLERANCE.split(plain)
    if len(parts) > 2:
        raise QuantityError(
            text,
            say("more than one tolerance"),
            say("one value such as {example}", example=say(kind.example)),
        )
    nominal, unit = _one(text, parts[0], kind)
    value = nominal * kind.units[unit].factor + kind.units[unit].offset
    if len(parts) == 1:
        if sd:
            raise QuantityError(
                text, say("(sd) without +-"), say(kind.example), say('Write "a +- b (sd)".')
            )
        return Quantity(value, value, value, "exact", dimension, text)
    half = _half_width(text, parts[1], kind, value)
    if sd:
        return Quantity(value, value - 2 * half, value + 2 * half, "normal", dimension, text)
    return Quantity(value, value - half, value + half, "rectangular", dimension, text)


def _between(text: str, plain: str, kind: Dimension) -> Quantity:
    ends = plain.split("..")
    if len(ends) != 2:
        raise QuantityError(
            text,
            say("more than one .."),
            say('"a .. b" with units, as in {example}', example=say(kind.example)),
        )
    low, high = (
        number * kind.units[unit].factor + kind.units[unit].offset
        for number, unit in (_one(text, end.strip(" "), kind) for end in ends)
    )
    if low > high:
        raise QuantityError(
            text,
            say("the limits are swapped"),
            say("the lower limit first"),
            say("Swap the two values."),
        )
    shape: Shape = "rectangular" if high > low else "exact"
    return Quantity((low + high) / 2, low, high, shape, kind.name, text)


def _half_width(text: str, part: str, kind: Dimension, value: float) -> float:
    """Half the width in SI: a percentage is of the value, save behind a value itself in %."""
    percent = re.fullmatch(rf"\s*({_NUMBER})\s*%\s*", part)
    if percent and kind.name == "temperature":
        raise QuantityError(
            text,
            say("a percentage of a temperature"),
            say(kind.example),
            say('Write it in degrees: "+- 5 K".'),
        )
    if percent and kind.name != "fraction":
        half = _number(text, percent[1], kind) / 100 * abs(value)
    else:
        number, unit = _one(text, part, kind)
        half = number * kind.units[unit].factor
    if half < 0:
        raise QuantityError(text, say("a negative tolerance"), say("a tolerance of zero or more"))
    return half


def _one(text: str, part: str, kind: Dimension) -> tuple[float, str]:
    """A number and its unit, the unit checked against the dimension."""
    allowed = say("a {kind} such as {example}", kind=kind.words, example=say(kind.example))
    match = _ONE.fullmatch(part)
    if match is None:
        raise QuantityError(text, say("not a number with a unit"), allowed)
    number = _number(text, match["number"], kind)
    unit = " ".join((match["unit"] or "").split())
    if unit in kind.units:
        return number, unit
    if not unit:
        raise QuantityError(text, say("no unit"), allowed)
    raise QuantityError(text, unit_fault(unit, kind), allowed, unit_hint(unit, kind))


def _number(text: str, digits: str, kind: Dimension) -> float:
    """A finite number; "13 1/4" and "3/8" as a rule in inches shows them."""
    whole, fraction = digits, ""
    if "/" in digits:
        head, slash, below = digits.rpartition("/")
        whole, _, above = re.sub(r"(?<=\d)[ -](?=\d)", " ", head).rpartition(" ")
        fraction = above + slash + below
    value = float(whole) if whole else 0.0
    if fraction:
        above, below = fraction.split("/")
        if float(below) == 0:
            raise QuantityError(
                text,
                say("a fraction over zero"),
                say("a value such as {example}", example=say(kind.example)),
            )
        value += (-1 if whole.startswith("-") else 1) * float(above) / float(below)
    if not isfinite(value):
        raise QuantityError(
            text,
            say("too large a number"),
            say("a finite value such as {example}", example=say(kind.example)),
        )
    return value


def spoken(value: Quantity, unit: str) -> float:
    """The nominal value in a unit of its dimension, for messages and tables."""
    return from_si(value.nominal, value.dimension, unit)
