"""Where a person has the piece come: across the roll, and above it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import urlencode

from tripmargin.ground.errors import TripmarginError, shortened
from tripmargin.ground.quantities import quantity
from tripmargin.ground.typed import typed_quantity
from tripmargin.ground.units import INCH
from tripmargin.machine import Machine
from tripmargin.reports.how.placing import require_place

MOST = 20  # letters of a length


@dataclass(frozen=True, slots=True)
class Placed:
    """A place that was asked for, m; None: the page's own. `typed` is what stands in the boxes."""

    x: float | None = None
    height: float | None = None
    typed: dict[str, str] = field(default_factory=dict)
    wrong: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, machine: Machine, said: Mapping[str, str], *, us: bool) -> Placed:
        """The place in an address; what it cannot be is told, and stays as it was typed."""
        typed = {name: said.get(name, "").strip() for name in ("x", "height")}
        typed = {name: text for name, text in typed.items() if text}
        found: dict[str, float] = {}
        wrong: dict[str, str] = {}
        for name, text in typed.items():
            try:
                value = _length(text, us=us)
                require_place(machine, **{"x": None, "height": None, name: value}, us=us)
            except (TripmarginError, ValueError) as error:
                wrong[name] = str(error)
            else:
                found[name] = value
        return cls(found.get("x"), found.get("height"), typed, wrong)

    @property
    def query(self) -> str:
        """The same, as an address says it."""
        return urlencode(self.typed)


def _length(text: str, *, us: bool) -> float:
    """A length as typed, m; without a unit in the reader's.

    >>> _length("-150", us=False), _length("2 in", us=False)
    (-0.15, 0.0508)
    """
    if len(text) > MOST:
        text = shortened(text, MOST)
    meant = typed_quantity(text).replace("\N{MINUS SIGN}", "-")
    if re.fullmatch(r"[+-]?\d+(\.\d+)?", meant, re.ASCII):
        return float(meant) * (INCH if us else 1e-3)
    return quantity(meant, "length").nominal
