"""A box for a measured length: a bare number takes the unit beside it, any other unit is read."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from tripmargin.ground.decimal_commas import meant_by, typed
from tripmargin.ground.errors import QuantityError, shortened
from tripmargin.ground.languages import numeral, say
from tripmargin.ground.quantities import quantity
from tripmargin.ground.typed import typed_quantity
from tripmargin.ground.units import shown

_BARE = re.compile(r"[+-]?[\d./ ]*\d[\d./ ]*(?:[eE][+-]?\d+)?")
_LONGEST = 60  # letters
_FURTHEST = 1e4  # m; beyond it nobody means a length
UNITS = {"mm": 1e-3, "in": 0.0254}


@dataclass(slots=True)
class LengthBox:
    """One box.

    Attributes
    ----------
    name, id, label, help
        As shown.
    unit : "mm" or "in"
        Of a bare number.
    least, most : float, m
        What may stand in it. `zero_goes`: zero and less are left to who reads on.
    text
        As typed.
    """

    name: str
    id: str
    label: str
    unit: str
    least: float
    most: float
    text: str = ""
    help: str = ""
    required: bool = True
    zero_goes: bool = False
    troubles: list[str] = field(default_factory=list)
    shape = "number"
    keyboard = "decimal"

    @property
    def mends(self) -> tuple[str, ...]:
        """What may be meant by a number with a comma."""
        return meant_by(typed(self.text))

    def read(self) -> float | None:
        """The length, m; None where there is none, and then its trouble is noted if needed."""
        said = typed_quantity(self.text.strip())
        if not said:
            if self.required:
                self._refuse(say("Needed, and left empty."))
            return None
        if self.mends or re.search(r"\d,\d", said):
            self.troubles.append(say("A comma inside a number. Is it a decimal point?"))
            return None
        try:
            if len(said) > _LONGEST:
                raise QuantityError(said, say("too long to be a length"), "")
            value = quantity(f"{said} {self.unit}" if _BARE.fullmatch(said) else said, "length")
        except QuantityError as error:
            problem = f"{error.problem[:1].upper()}{error.problem[1:]}"
            seen = shortened(self.text.strip(), 30)
            self._refuse(say("{problem}: “{seen}”.", problem=problem, seen=seen))
            return None
        if value.uncertain:
            self._refuse(say("One reading is meant here, without a tolerance."))
        elif value.nominal <= 0 and self.zero_goes:
            return max(value.nominal, -_FURTHEST)
        elif not self.least <= value.nominal <= self.most:
            self._refuse(say("Out of range. Is the unit right?"))
        else:
            return value.nominal
        return None

    def _refuse(self, problem: str) -> None:
        allowed = say("Allowed: {allowed}.", allowed=self._allowed)
        self.troubles.append(f"{problem}\n{allowed}")

    @property
    def _allowed(self) -> str:
        us = self.unit == "in"
        low, high = (shown(end, "length", us=us, digits=2) for end in (self.least, self.most))
        return say(
            "a number, or one with its unit such as “1.2 mm”, from {low} to {high}",
            low=low,
            high=high,
        )


def in_box(value: float, unit: str) -> str:
    """A length as it would be typed into a box.

    >>> in_box(0.0062, "mm"), in_box(0.0062, "in")
    ('6.2', '0.244')
    """
    return numeral(float(f"{value / UNITS[unit]:.3f}"), "g")
