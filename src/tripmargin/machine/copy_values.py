"""The values of a machine on their way into a copy and back, and how two of them differ."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, is_dataclass
from math import isclose
from typing import Any

from tripmargin.ground.errors import QuantityError
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.ground.units import DIMENSIONS
from tripmargin.machine.fields import Spec, specs_of
from tripmargin.machine.model import Machine, label
from tripmargin.machine.reading import Findings, read_value

_ABSENT: Any = object()


def written(table: Any, path: str, assumed: tuple[str, ...] = ()) -> dict[str, Any]:
    """A table of the model, at a dotted path, as the file writes it, without what was assumed."""
    made: dict[str, Any] = {}
    for name, spec in specs_of(type(table)).items():
        place, value = f"{path}.{name}", getattr(table, name)
        if value is None or value == () or place in assumed or _as_usual(spec, value):
            continue
        if spec.kind == "table":
            below = written(value, place, assumed)
            if below or spec.optional or spec.required or spec.assumed is not None:
                made[name] = below
        elif spec.kind in ("tables", "named"):
            labels = [label(item, index) for index, item in enumerate(value)]
            tables = [
                written(v, f"{place}.{x}", assumed) for x, v in zip(labels, value, strict=True)
            ]
            made[name] = tables if spec.kind == "tables" else dict(zip(labels, tables, strict=True))
        else:
            made[name] = _as_written(spec, value)
    return made


def _as_written(spec: Spec, value: Any) -> Any:
    if isinstance(value, Quantity):
        return _quantity_text(value, bare=spec.bare)
    if spec.kind == "words":
        return dict(value)
    if spec.kind == "lengths":
        return [_quantity_text(Quantity.exact(item, spec.dimension)) for item in value]
    if spec.kind == "vector":
        return [_quantity_text(item) for item in value]
    return list(value) if isinstance(value, tuple) else value


def _as_usual(spec: Spec, value: Any) -> bool:
    """Whether it is what stands in for a field that is not written."""
    if isinstance(value, Quantity):
        return value.source == "assumed"
    if spec.usual is None:
        return False
    return bool(read_value(spec, spec.usual, (), Findings(), assumed=True) == value)


def _quantity_text(value: Quantity, *, bare: bool = False, slack: float = 0.0) -> Any:
    """The text as a person wrote it; in full where a number without doubt was shown rounded."""
    if bare and not value.uncertain and value.text == f"{value.nominal:g}":
        return int(value.nominal) if value.nominal.is_integer() else value.nominal
    kind = DIMENSIONS[value.dimension]
    if value.uncertain or kind.si not in kind.units:
        return value.text
    try:
        read = quantity(value.text, value.dimension).nominal
        exact = isclose(read, value.nominal, rel_tol=slack)
    except QuantityError:
        exact = False
    return value.text if exact else f"{value.nominal!r} {kind.si}".strip()


def as_toml(value: Any) -> str:
    """A value as TOML writes it on one line; JSON's texts are TOML's basic strings."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_text(k)} = {as_toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    return _text(value)


def _text(value: Any) -> str:
    # A DEL is the one character that JSON leaves bare and TOML does not.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


# --- the settings of a what-if ----------------------------------------------------------------


def settings_of(machine: Machine) -> dict[str, Any]:
    """The fields that a what-if set, by dotted path, JSON-ready with every number in full."""
    made: dict[str, Any] = {}
    for path in machine.changed:
        parts = path.split(".")
        for length in range(2, len(parts) + 1):
            above, name = ".".join(parts[: length - 1]), parts[length - 1]
            table = machine.get(above)
            spec = specs_of(type(table)).get(name) if is_dataclass(type(table)) else None
            if spec is None:
                continue
            if length == len(parts):
                made[path] = _kept(spec, getattr(table, name))
            if spec.unless and getattr(table, spec.unless) is None:
                made[f"{above}.{spec.unless}"] = None
    return made


def _kept(spec: Spec, value: Any) -> Any:
    if value is None:  # another setting took its place
        return None
    if isinstance(value, Quantity):
        return {"quantity": asdict(value)}
    if spec.kind == "table":
        specs = specs_of(type(value))
        given = {name: getattr(value, name) for name in specs}
        return {
            "table": {k: _kept(specs[k], v) for k, v in given.items() if v is not None and v != ()}
        }
    if spec.kind == "lengths":
        return [{"quantity": asdict(Quantity.exact(item, spec.dimension))} for item in value]
    if isinstance(value, tuple):
        return [_kept(spec, item) for item in value]
    return value


def setting(kept: Any, *, text: bool = False) -> Any:
    """A kept setting as a what-if takes it, or as the text that a file would say.

    Raises
    ------
    KeyError, TypeError
        If it is not as `settings_of` keeps them.
    """
    if isinstance(kept, list):
        return [setting(item, text=text) for item in kept]
    if not isinstance(kept, dict):
        return kept
    if "quantity" not in kept:
        return {name: setting(item, text=text) for name, item in dict(kept["table"]).items()}
    value = Quantity(**kept["quantity"])
    numbers = (value.nominal, value.low, value.high)
    if not all(isinstance(n, (int, float)) for n in numbers) or value.dimension not in DIMENSIONS:
        raise TypeError("not a quantity")
    return _quantity_text(value, slack=1e-12) if text else value


# --- what two machines say differently --------------------------------------------------------


def canonical(value: Any) -> str:
    """JSON with one way to write each value: 10 and 10.0 are the same number."""

    def one(item: Any) -> Any:
        if isinstance(item, _Ordered):
            return [[key, one(below)] for key, below in item.items()]
        if isinstance(item, dict):
            return {key: one(below) for key, below in item.items()}
        if isinstance(item, list):
            return [one(below) for below in item]
        return int(item) if isinstance(item, float) and item.is_integer() else item

    return json.dumps(one(value), sort_keys=True, separators=(",", ":"), default=str)


def with_texts(tables: dict[str, Any], settings: Mapping[str, Any]) -> dict[str, Any]:
    """The merged tables with a what-if's settings in them, arrays of named tables by name."""
    made: dict[str, Any] = _by_name({k: v for k, v in tables.items() if k != "format"})
    for path, kept in settings.items():
        *above, name = path.split(".")
        table = made
        for part in above:
            by_number = isinstance(table, _Ordered) and part not in table and part.isdecimal()
            table = table.setdefault(list(table)[int(part)] if by_number else part, {})
        if kept is None:
            table.pop(name, None)
        else:
            table[name] = setting(kept, text=True)
    return made


def _by_name(value: Any) -> Any:
    """Tables all through: an array's by their names, or by their numbers from 0."""
    if isinstance(value, dict):
        return {key: _by_name(item) for key, item in value.items()}
    if not isinstance(value, list) or not value or not all(isinstance(v, dict) for v in value):
        return value
    names = [item.get("name") for item in value]
    if all(isinstance(name, str) for name in names) and len(set(names)) == len(names):
        named = {item["name"]: {k: v for k, v in item.items() if k != "name"} for item in value}
        return _Ordered(_by_name(named))
    return {str(index): _by_name(item) for index, item in enumerate(value)}


class _Ordered(dict[str, Any]):
    """Tables by name whose order in the file counts, such as operating steps."""


def compared(path: str, before: Any, after: Any) -> Iterator[tuple[str, str, str]]:
    """Each field that differs: its dotted path, and the texts on both sides."""
    if _same(before, after):
        return
    old, new = (side if isinstance(side, dict) else {} for side in (before, after))
    if not old and not new:
        yield path, _seen(before), _seen(after)
        return
    for side, texts in ((before, (_seen(before), "")), (after, ("", _seen(after)))):
        if side is not _ABSENT and not isinstance(side, dict):
            yield (path, *texts)
    for key in dict.fromkeys((*old, *new)):
        below = f"{path}.{key}" if path else key
        yield from compared(below, old.get(key, _ABSENT), new.get(key, _ABSENT))
    if isinstance(before, _Ordered) and isinstance(after, _Ordered):
        stayed = [name for name in old if name in new], [name for name in new if name in old]
        if stayed[0] != stayed[1]:
            yield path, ", ".join(stayed[0]), ", ".join(stayed[1])


def _same(before: Any, after: Any) -> bool:
    if before is _ABSENT or after is _ABSENT:
        return before is after
    return canonical(before) == canonical(after)


def _seen(value: Any) -> str:
    if value is _ABSENT:
        return ""
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)
