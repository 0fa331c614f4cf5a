"""The machine file's JSON Schema (draft 2020-12), made from the specifications of its fields."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from tripmargin.ground.languages import ENGLISH, speaking
from tripmargin.ground.units import DIMENSIONS
from tripmargin.machine.fields import Spec, specs_of
from tripmargin.machine.model import SECTIONS
from tripmargin.machine.reading import MOST_CUTS

DIALECT = "https://json-schema.org/draft/2020-12/schema"
NAME = "urn:tripmargin:machine-file:1"

_PLAIN = r"(?:[0-9]+(?:\.[0-9]+|\.)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_UNSIGNED = rf"(?:[0-9]+/[0-9]+|{_PLAIN}(?:[ -][0-9]+/[0-9]+)?)"
_TOLERANCE = r"\s*(?:\+-|\+/-|±)\s*"


def json_schema() -> dict[str, Any]:
    """The JSON Schema of a machine file, its TOML read as JSON.

    A file with `extends` may leave out what its type sheet gives; one without may not. It is in
    English whatever is spoken: one file, published for all.

    Examples
    --------
    >>> json_schema()["$id"]
    'urn:tripmargin:machine-file:1'
    """
    with speaking(ENGLISH):
        return _json_schema()


def _json_schema() -> dict[str, Any]:
    return {
        "$schema": DIALECT,
        "$id": NAME,
        "title": "Machine file",
        "description": "A machine with a feed-stop protection. Quantities are texts with their"
        ' units: "330 mm", "330 mm +- 4 mm", "2 ms .. 4 ms", "3.5 mm +- 0.4 mm (sd)".',
        "if": {"required": ["extends"]},
        "then": {"$ref": "#/$defs/over_a_type_sheet"},
        "else": {"$ref": "#/$defs/whole"},
        "$defs": {
            "whole": _root(whole=True),
            "over_a_type_sheet": _root(whole=False),
        }
        | {
            _pattern_name(name): {"type": "string", "pattern": quantity_pattern(name)}
            for name in DIMENSIONS
        }
        | {
            _pattern_name(name, least=0.0): {
                "type": "string",
                "pattern": quantity_pattern(name, negative=False),
            }
            for name in DIMENSIONS
        },
    }


def quantity_pattern(dimension: str, *, negative: bool = True) -> str:
    """What a quantity's text looks like, as a regular expression of JSON Schema (ECMA 262).

    >>> bool(re.search(quantity_pattern("length"), "330 mm +- 4 mm"))
    True
    >>> bool(re.search(quantity_pattern("length"), "330"))
    False
    """
    units = [name for name in DIMENSIONS[dimension].units if name]
    written = "|".join(_unit_pattern(name) for name in sorted(units, key=len, reverse=True))
    unit = rf"\s*(?:{written})" if units else ""
    one = rf"{'[+-]?' if negative else '[+]?'}{_UNSIGNED}{unit}"
    half = rf"[+]?{_UNSIGNED}(?:{unit}|\s*%)"
    return rf"^\s*{one}(?:{_TOLERANCE}{half}(?:\s*\(sd\))?|\s*\.\.\s*{one})?\s*$"


def _unit_pattern(name: str) -> str:
    """A unit's letters; only what ECMA 262 knows as special is escaped."""
    return r"\s+".join(re.sub(r"([\\^$.|?*+()\[\]{}/])", r"\\\1", part) for part in name.split())


def _root(*, whole: bool) -> dict[str, Any]:
    properties: dict[str, Any] = {
        "format": {"const": 1, "description": "version of the file's format"},
    }
    if not whole:
        properties["extends"] = {
            "type": "string",
            "minLength": 1,
            "description": "type sheet, beside this file, that this file overrides key by key",
        }
    for name, (cls, meaning) in SECTIONS.items():
        properties[name] = _table(cls, meaning, whole=whole)
    return {"type": "object", "properties": properties, "additionalProperties": False}


def _table(cls: type, meaning: str, *, whole: bool) -> dict[str, Any]:
    specs = specs_of(cls)
    made: dict[str, Any] = {
        "type": "object",
        "description": meaning,
        "properties": {name: _field(spec, whole=whole) for name, spec in specs.items()},
        "additionalProperties": False,
    }
    required = [name for name, spec in specs.items() if spec.required]
    if whole and required:
        made["required"] = required
    return made


def _field(spec: Spec, *, whole: bool) -> dict[str, Any]:
    if spec.kind == "named":
        made = _named(spec, whole=whole)
    elif spec.table is not None:
        below = _table(spec.table, spec.meaning, whole=whole)
        made = {"type": "array", "items": below} if spec.kind == "tables" else below
    else:
        made = _VALUES[spec.kind](spec) | {"description": _description(spec)}
    default = spec.assumed if spec.assumed is not None else spec.usual
    return made | ({"default": default} if default is not None else {})


def _named(spec: Spec, *, whole: bool) -> dict[str, Any]:
    """Tables under names of the person's own. One over a type sheet need not say its kind again."""
    if spec.table is not None:
        below = _table(spec.table, spec.meaning, whole=whole)
    else:
        kinds = (spec.tables or {}).values()
        below = {
            "anyOf": [_table(cls, specs_of(cls)["kind"].meaning, whole=whole) for cls in kinds]
        }
    return {"type": "object", "description": spec.meaning, "additionalProperties": below}


def _description(spec: Spec) -> str:
    return f"{spec.meaning}. Allowed: {spec.allowed()}."


def _quantity(spec: Spec) -> dict[str, Any]:
    text = {"$ref": f"#/$defs/{_pattern_name(spec.dimension, spec.low)}"}
    if not spec.bare:
        return text
    bare: dict[str, Any] = {"type": "integer" if spec.whole else "number"}
    for key, limit in (("minimum", spec.low), ("maximum", spec.high)):
        if limit is not None:
            bare[key] = limit
    return {"anyOf": [bare, text]}


def _lengths(spec: Spec) -> dict[str, Any]:
    return {"type": "array", "items": _quantity(spec), "minItems": 1, "maxItems": MOST_CUTS}


def _vector(spec: Spec) -> dict[str, Any]:
    count = {"minItems": spec.count, "maxItems": spec.count}
    return {"type": "array", "items": _quantity(spec)} | count


def _texts(spec: Spec) -> dict[str, Any]:
    one: dict[str, Any] = {"enum": list(spec.choices)} if spec.choices else dict(_TEXT)
    least, most = spec.count or 1, spec.count
    return {"type": "array", "items": one, "minItems": least} | (
        {"maxItems": most} if most is not None else {}
    )


def _words(spec: Spec) -> dict[str, Any]:
    if not spec.keys:
        return {"type": "object", "additionalProperties": _TEXT}
    properties = dict.fromkeys(spec.keys, _TEXT)
    return {
        "type": "object",
        "properties": properties,
        "required": list(spec.needs),
        "additionalProperties": False,
    }


def _pattern_name(dimension: str, least: float | None = None) -> str:
    name = dimension.replace(" ", "_")
    return f"{name}_not_negative" if least is not None and least >= 0 else name


_TEXT = {"type": "string", "pattern": r"\S"}

_VALUES: dict[str, Callable[[Spec], dict[str, Any]]] = {
    "quantity": _quantity,
    "lengths": _lengths,
    "vector": _vector,
    "direction": lambda _: {
        "type": "array",
        "items": {"type": "number"},
        "minItems": 3,
        "maxItems": 3,
    },
    "sense": lambda _: {"enum": [1, -1]},
    "choice": lambda spec: {"enum": list(spec.choices)},
    "flag": lambda _: {"type": "boolean"},
    "text": lambda _: dict(_TEXT),
    "texts": _texts,
    "words": _words,
}
