"""What can be put in a log, as data for a page that asks for it by itself."""

from __future__ import annotations

from typing import Any

from tripmargin.ground.languages import say
from tripmargin.ground.unit_words import unit_words
from tripmargin.ground.units import DIMENSIONS, from_si
from tripmargin.records.kinds import KINDS
from tripmargin.records.kinds.fields import LONGEST_TEXT, Field
from tripmargin.records.kinds.kinds import Kind
from tripmargin.stopping.pawl_words import pawl_words

ASKED = ("daily check", "trip", "false trip", "missed metal", "adjustment", "note")
"""Kinds of entries that a person in the field has to write down."""


def form_data(pawls: tuple[str, ...], steps: tuple[str, ...], *, us: bool) -> dict[str, Any]:
    """The forms of the kinds that are `ASKED`, by the kind's name; JSON-ready.

    Parameters
    ----------
    pawls, steps : tuple of str
        Names of the machine's pawls, and of the steps of its daily check.
    us : bool
        Whether the boxes take US units.

    Returns
    -------
    dict
        A quantity's `factor` makes SI of a number in its `unit`, its `least` and `most` are in
        that unit.
    """
    return {name: _form(KINDS[name], pawls, steps, us) for name in ASKED}


def _form(kind: Kind, pawls: tuple[str, ...], steps: tuple[str, ...], us: bool) -> dict[str, Any]:
    return {
        "title": kind.title,
        "meaning": kind.meaning,
        "near": kind.near,
        "caution": kind.caution,
        "longest": LONGEST_TEXT,
        "fields": [_box(key, field, us) for key, field in kind.keys(pawls, steps)],
    }


def _box(key: str, field: Field, us: bool) -> dict[str, Any]:
    name, label = key.partition("/")[2], field.label
    if name and field.names == "pawls":
        label = say("{label}: {pawl}", label=label, pawl=pawl_words(name))
    made: dict[str, Any] = {
        "key": key,
        "label": label,
        "help": field.help,
        "what": field.what,
        "required": field.required,
    }
    if field.choices:
        made["choices"] = list(field.choices.items())
    if field.what == "quantity":
        made |= _unit(field, us)
    return made


def _unit(field: Field, us: bool) -> dict[str, Any]:
    dimension = DIMENSIONS[field.dimension]
    unit = dimension.us if us else dimension.metric
    low, high = (from_si(end, field.dimension, unit) for end in (field.low, field.high))
    return {
        "unit": unit,
        "unit_said": unit_words(unit),
        "factor": dimension.units[unit].factor if unit else 1.0,
        "least": float(f"{low:.6g}"),
        "most": float(f"{high:.6g}"),
    }
