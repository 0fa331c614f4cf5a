"""A machine as rows of a table: each field, its value in the units wanted, and as written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tripmargin.ground import unit_words as units
from tripmargin.ground.languages import numeral, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.quantities import Quantity
from tripmargin.ground.units import DIMENSIONS, shown, written
from tripmargin.machine.fields import Spec, specs_of
from tripmargin.machine.model import SECTIONS, Machine, label


@dataclass(frozen=True, slots=True)
class Row:
    """One field of a machine as a person reads it.

    `field` is dotted below the section; `written` is the file's own text, empty where the file
    leaves the field out; `changed` marks a what-if.
    """

    section: str
    field: str
    value: str
    written: str
    assumed: bool = False
    changed: bool = False


def rows(machine: Machine, *, us: bool = False) -> tuple[Row, ...]:
    """Every field that the machine has, in the file's order.

    Parameters
    ----------
    machine : Machine
    us : bool
        US units instead of metric; the text as written stays as it is.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> found = {row.field: row for row in rows(load_machine("curlew"), us=True)}
    >>> found["sensor_to_shear_bar"].value, found["sensor_to_shear_bar"].written
    ('10.2 in +- 0.1181 in', '259 mm +- 3 mm')
    """
    return tuple(
        row
        for section in SECTIONS
        if getattr(machine, section) is not None
        for row in _rows(getattr(machine, section), (section,), machine, us)
    )


def _rows(table: Any, path: tuple[str, ...], machine: Machine, us: bool) -> Iterator[Row]:
    for name, spec in specs_of(type(table)).items():
        value, place = getattr(table, name), (*path, name)
        if value is None or value == ():
            continue
        if spec.kind == "table":
            yield from _rows(value, place, machine, us)
        elif spec.kind in ("tables", "named"):
            for index, item in enumerate(value):
                yield from _rows(item, (*place, label(item, index)), machine, us)
        else:
            yield _row(spec, value, place, machine, us)


def _row(spec: Spec, value: Any, place: tuple[str, ...], machine: Machine, us: bool) -> Row:
    full = ".".join(place)
    assumed = _among(full, machine.assumed)
    return Row(
        section=place[0],
        field=".".join(place[1:]),
        value=_value(spec, value, us),
        written="" if assumed else _written(spec, value),
        assumed=assumed,
        changed=_among(full, machine.changed),
    )


def _among(path: str, known: tuple[str, ...]) -> bool:
    return any(path == name or path.startswith(name + ".") for name in known)


def _value(spec: Spec, value: Any, us: bool) -> str:
    """A value as a person reads it."""
    if isinstance(value, Quantity):
        return value.shown(us=us)
    if spec.kind == "vector":
        return ", ".join(item.shown(us=us) for item in value)
    if spec.kind == "lengths":
        return ", ".join(shown(item, spec.dimension, us=us) for item in value)
    if spec.kind == "texts":
        return ", ".join(map(as_written, value))
    if spec.kind == "words":
        return ", ".join(f"{as_written(key)} = {as_written(item)}" for key, item in value)
    if spec.kind == "direction":
        return ", ".join(numeral(item, "g") for item in value)
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    return as_written(value) if spec.kind == "text" else str(value)


def _written(spec: Spec, value: Any) -> str:
    """The same as the file has it, whatever is spoken."""
    if isinstance(value, Quantity):
        return "" if value.source == "assumed" else value.text
    if spec.kind == "vector":
        return ", ".join(item.text for item in value)
    if spec.kind == "lengths":
        return ", ".join(written(item, spec.dimension) for item in value)
    if spec.kind == "texts":
        return ", ".join(value)
    if spec.kind == "words":
        return ", ".join(f"{key} = {item}" for key, item in value)
    if spec.kind == "direction":
        return ", ".join(f"{item:g}" for item in value)
    return str(value).lower() if isinstance(value, bool) else str(value)


def unit_words(us: bool) -> str:
    """Which units a table is in, in words.

    >>> unit_words(us=True)
    'US units: in, ft/min, kG, ...'
    """
    if not us:
        return say("metric units")
    own = [d.us for d in DIMENSIONS.values() if d.us != d.metric]
    return say("US units: {units}, ...", units=", ".join(map(units.unit_words, own[:3])))
