"""How much each learned value may drift in a year: asked for where it is kept, may stay empty."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from tripmargin.ground.decimal_commas import meant_by, typed
from tripmargin.ground.errors import QuantityError
from tripmargin.ground.languages import say
from tripmargin.ground.typed import spelled_quantity, typed_quantity
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine.measured_section import drift_of
from tripmargin.recordings import Calibration
from tripmargin.web.machines.naming import called

_PREFIX = "drift."
_LONGEST = 60  # letters
_NOTHING = 1e-12  # in SI


@dataclass(slots=True)
class DriftBox:
    """One box: the field that it is about, what stands in it, and what the file says already."""

    path: str
    label: str
    text: str
    filed: str
    troubles: list[str] = field(default_factory=list)

    @property
    def name(self) -> str:
        """In the form."""
        return f"{_PREFIX}{self.path}"

    @property
    def id(self) -> str:
        """Of its box."""
        return self.name.replace(".", "-")

    @property
    def mends(self) -> tuple[str, ...]:
        """What may be meant by a number with a comma."""
        return meant_by(typed(self.text))

    @property
    def drift(self) -> str | None:
        """What was said as a file has it; None where nothing was: what the file says stays then."""
        return typed_quantity(self.text) or None


def drift_boxes(made: Calibration, machine: LoadedMachine, said: Any) -> list[DriftBox]:
    """A box for each learned field; with `said` a form that came back, what of it cannot be."""
    filed = {
        one.field: one.drift or ""
        for one in (machine.measured.fields if machine.measured is not None else ())
    }
    boxes = []
    for one in made.fields:
        there = spelled_quantity(filed.get(one.path, ""))
        text = said.get(f"{_PREFIX}{one.path}", there) if said else there
        box = DriftBox(one.path, called(one.path), str(text).strip(), there)
        if box.text:
            _look_at(box, one.after)
        boxes.append(box)
    return boxes


def _look_at(box: DriftBox, value: Any) -> None:
    if len(box.text) > _LONGEST:
        box.troubles.append(
            say("Too long.\nAllowed: a drift, at most {most} letters.", most=_LONGEST)
        )
        return
    try:
        if drift_of(typed_quantity(box.text), value) <= _NOTHING:
            box.troubles.append(
                say(
                    "That is nothing, as the value is {value}.\nAllowed: a width in its own unit;"
                    " or leave it empty.",
                    value=value.shown(),
                )
            )
    except QuantityError as error:
        problem = f"{error.problem[:1].upper()}{error.problem[1:]}."
        lines = [
            problem,
            say('Allowed: {allowed}; or a share such as "5 %".', allowed=error.allowed),
        ]
        box.troubles.append("\n".join([*lines, error.hint] if error.hint else lines))
