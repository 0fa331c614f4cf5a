"""What an answer of `machine new` is in the file: its units, its lists, what is fitted."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from tripmargin.ground.units import DIMENSIONS
from tripmargin.machine.fields import Spec

if TYPE_CHECKING:
    from tripmargin.machine.asking import Question

_SUPPRESSION = re.compile(
    r"(?P<kind>none|resistor|diode|zener)\b[\s,]*(?P<value>.*?)\s*", re.IGNORECASE
)


def value_of(question: Question, text: str, *, us: bool) -> Any:
    """An answer as it goes into the file; a bare number takes the usual unit.

    >>> from tripmargin.machine.asking import Question
    >>> spec = Spec("quantity", "roll", "length")
    >>> value_of(Question(("feed", "roll_diameter"), spec), "330 +- 4", us=False)
    '330 mm +- 4 mm'
    """
    spec, text = question.spec, text.strip()
    if question.path[-1] == "suppression":
        return _suppression(text, us=us)
    if spec.kind == "lengths":
        parts = [part for part in re.split(r"[,;]\s*(?!\d*$)|[,;]\s*", text) if part.strip()]
        unit = _last_unit(parts)
        return [
            _with_unit(part if _has_unit(part) else f"{part} {unit}".strip(), spec, us)
            for part in parts
        ]
    if spec.kind != "quantity":
        return text
    if spec.bare:
        return _bare(text)
    return _with_unit(text, spec, us)


def _suppression(text: str, *, us: bool) -> Any:
    match = _SUPPRESSION.fullmatch(text)
    if match is None:
        return {"kind": text}
    kind, value = match["kind"].lower(), match["value"]
    made: dict[str, Any] = {"kind": kind}
    if value:
        name = "resistance" if kind == "resistor" else "voltage"
        unit = Spec("quantity", "", name)
        made[name] = _with_unit(value, unit, us)
    return made


def _bare(text: str) -> Any:
    try:
        number = float(text)
    except ValueError:
        return text
    return int(number) if number.is_integer() else number


def _has_unit(text: str) -> bool:
    return bool(re.search(r"[^\d\s+±./()eE-]", text))


def _last_unit(parts: list[str]) -> str:
    found = re.search(r"[^\d\s+±./-]+\s*$", parts[-1]) if parts else None
    return found[0].strip() if found else ""


def _with_unit(text: str, spec: Spec, us: bool) -> str:
    """The text, with the usual unit behind each number where none is written at all.

    >>> _with_unit("1000 +- 2 %", Spec("quantity", "", "rotation"), us=False)
    '1000 rpm +- 2 %'
    """
    plain = text.removesuffix("(sd)").strip()
    parts = re.split(r"\s*(\+-|\+/-|±|\.\.)\s*", plain)
    if any(_has_unit(part.replace("%", "")) for part in parts[::2]) or not all(parts):
        return text
    kind = DIMENSIONS[spec.dimension]
    unit = kind.us if us else kind.metric
    parts[::2] = [part if "%" in part else f"{part} {unit}" for part in parts[::2]]
    return " ".join(parts) + (" (sd)" if text.endswith("(sd)") else "")


def spoken(value: Any) -> str:
    """A value of the file as a person says it.

    >>> spoken(["6 mm", "9 mm"]), spoken({"kind": "diode", "voltage": "0.8 V"})
    ('6 mm, 9 mm', 'diode 0.8 V')
    """
    if isinstance(value, dict):
        return " ".join(spoken(item) for item in value.values())
    if isinstance(value, list):
        return ", ".join(spoken(item) for item in value)
    return str(value)
