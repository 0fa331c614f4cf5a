"""From a value as written to a value of the model, or to a problem that says how to mend it."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from tripmargin.ground.errors import QuantityError, nearest, shortened
from tripmargin.ground.languages import say
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.ground.units import shown
from tripmargin.machine.fields import EMPTY, Spec, specs_of

MOST_CUTS = 1000  # cut lengths on offer; a harvester has a few dozen at most
Path = tuple[str | int, ...]


@dataclass(slots=True)
class Findings:
    """What reading found: problems as (path, value, problem, allowed, hint), and the assumed."""

    problems: list[tuple[Path, str, str, str, str]] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)

    def add(self, path: Path, value: Any, problem: str, allowed: str, hint: str = "") -> None:
        """One more problem."""
        self.problems.append((path, written(value), problem, allowed, hint))


def written(value: Any) -> str:
    """A value about as it stands in the file."""
    if value is None:
        return ""
    if isinstance(value, Quantity):
        return value.text
    try:
        return shortened(json.dumps(value, ensure_ascii=False))
    except (TypeError, ValueError):  # a date, or a whole number of 5000 digits
        try:
            return shortened(str(value))
        except ValueError:
            return say("a number too long to show")


def dotted(path: Path) -> str:
    """A path as people write it: ("chain", "pawls", "lower") is chain.pawls.lower."""
    return ".".join(str(part) for part in path)


def read_table(cls: type, raw: Any, path: Path, found: Findings, *, assumed: bool = False) -> Any:
    """A table of the file as its dataclass; None where it cannot be made."""
    if not isinstance(raw, dict):
        found.add(
            path,
            raw,
            say("not a table"),
            say("a table with {fields}", fields=", ".join(specs_of(cls))),
        )
        return None
    specs = specs_of(cls)
    for key in raw:
        if key not in specs:
            near = nearest(key, list(specs))
            hint = say('Did you mean "{near}"?', near=near) if near else ""
            found.add((*path, key), raw[key], say("unknown key"), ", ".join(specs), hint)
    values: dict[str, Any] = {}
    for name, spec in specs.items():
        if raw.get(name) is None and spec.unless in raw:
            values[name] = None
            continue
        values[name] = _field(spec, raw.get(name), (*path, name), found, assumed=assumed)
    if any(values[name] is None for name, spec in specs.items() if spec.required):
        return None
    return cls(**values)


def _field(spec: Spec, raw: Any, path: Path, found: Findings, *, assumed: bool) -> Any:
    if raw is None:
        return _missing(spec, path, found)
    value = read_value(spec, raw, path, found, assumed=assumed)
    return value.assumed() if assumed and isinstance(value, Quantity) else value


def _missing(spec: Spec, path: Path, found: Findings) -> Any:
    """What stands in for a field that the file leaves out."""
    if spec.required:
        found.add(path, None, say("missing"), spec.allowed(), spec.to_measure)
        return None
    if spec.assumed is not None:
        found.assumed.append(dotted(path))
        return _field(spec, spec.assumed, path, found, assumed=True)
    if spec.usual is not None:
        return _field(spec, spec.usual, path, found, assumed=True)
    if spec.kind == "table" and spec.table is not None and not spec.optional:
        return read_table(spec.table, {}, path, found)
    return () if spec.kind in EMPTY else None


def read_value(spec: Spec, raw: Any, path: Path, found: Findings, *, assumed: bool = False) -> Any:
    """One value of the file as the model holds it; None, with a problem noted, where it can't."""
    from tripmargin.machine.reading_names import read_named, read_texts, read_words

    if _too_large(raw):
        found.add(path, raw, say("too large a number"), spec.allowed(), spec.to_measure)
        return None
    if spec.kind == "quantity":
        return _quantity(spec, raw, path, found)
    if spec.kind == "table" and spec.table is not None:
        return read_table(spec.table, raw, path, found, assumed=assumed)
    if spec.kind == "tables" and spec.table is not None:
        return _tables(spec, raw, path, found)
    if spec.kind == "named":
        return read_named(spec, raw, path, found)
    if spec.kind == "texts":
        return read_texts(spec, raw, path, found)
    if spec.kind == "words":
        return read_words(spec, raw, path, found)
    if spec.kind == "lengths":
        return _lengths(spec, raw, path, found)
    if spec.kind == "vector":
        return _vector(spec, raw, path, found)
    if spec.kind == "direction":
        return _direction(spec, raw, path, found)
    ok = {
        "text": isinstance(raw, str) and bool(raw.strip()),
        "choice": raw in spec.choices,
        "flag": isinstance(raw, bool),
        "sense": raw in (1, -1) and not isinstance(raw, bool),
    }[spec.kind]
    if ok:
        return int(raw) if spec.kind == "sense" else raw
    near = nearest(str(raw), list(spec.choices))
    found.add(
        path,
        raw,
        say("not allowed here"),
        spec.allowed(),
        say('Did you mean "{near}"?', near=near) if near else "",
    )
    return None


def _too_large(raw: Any) -> bool:
    """Whether a whole number, or one in a list, is beyond what a machine computes with."""
    if isinstance(raw, list):
        return any(_too_large(item) for item in raw)
    return isinstance(raw, int) and abs(raw) > 10**15


def _quantity(spec: Spec, raw: Any, path: Path, found: Findings) -> Quantity | None:
    is_number = isinstance(raw, (int, float)) and not isinstance(raw, bool)
    if isinstance(raw, Quantity):  # from a what-if, already in SI
        value = raw
    elif spec.bare and is_number:
        if not isfinite(raw):
            found.add(path, raw, say("not a finite number"), spec.allowed(), spec.to_measure)
            return None
        value = Quantity.exact(float(raw), "number", f"{raw:g}")
    elif isinstance(raw, str):
        try:
            value = quantity(raw, spec.dimension)
        except QuantityError as error:
            hint = " ".join(part for part in (error.hint, spec.to_measure) if part)
            found.add(path, raw, error.problem, spec.allowed(), hint)
            return None
    else:
        problem = say("no unit") if is_number else say("not a text with a number and its unit")
        found.add(path, raw, problem, spec.allowed(), spec.to_measure)
        return None
    return value if _in_range(spec, value, raw, path, found) else None


def _in_range(spec: Spec, value: Quantity, raw: Any, path: Path, found: Findings) -> bool:
    if not isfinite(value.nominal):
        found.add(path, raw, say("not a finite number"), spec.allowed(), spec.to_measure)
        return False
    # A normal distribution has no ends: its middle must lie in range, as must plain limits.
    least, most = (
        (value.nominal, value.nominal) if value.shape == "normal" else (value.low, value.high)
    )
    slack = 1e-9
    if spec.low is not None and least < spec.low - slack * max(1.0, abs(spec.low)):
        said = shown(least, spec.dimension)
        found.add(
            path,
            raw,
            say("too small: {value} or less than nothing", value=said)
            if spec.low == 0
            else say("too small: {value}", value=said),
            spec.allowed(),
            spec.to_measure,
        )
        return False
    if spec.high is not None and most > spec.high + slack * max(1.0, abs(spec.high)):
        found.add(
            path,
            raw,
            say("too large: {value}", value=shown(most, spec.dimension)),
            spec.allowed(),
            spec.to_measure,
        )
        return False
    if spec.whole and (value.uncertain or value.nominal != round(value.nominal)):
        found.add(path, raw, say("not a whole number"), spec.allowed(), spec.to_measure)
        return False
    return True


def _tables(spec: Spec, raw: Any, path: Path, found: Findings) -> tuple[Any, ...]:
    if not isinstance(raw, list) or not all(isinstance(item, dict) for item in raw):
        found.add(path, raw, say("not an array of tables"), f"[[{dotted(path)}]]")
        return ()
    assert spec.table is not None
    made = []
    for index, item in enumerate(raw):
        named = item.get("name")
        place = str(named) if isinstance(named, str) and "name" in specs_of(spec.table) else index
        made.append(read_table(spec.table, item, (*path, place), found))
    return tuple(item for item in made if item is not None)


def _lengths(spec: Spec, raw: Any, path: Path, found: Findings) -> tuple[float, ...]:
    if not isinstance(raw, list) or not raw:
        found.add(path, raw, say("not a list of lengths"), spec.allowed(), spec.to_measure)
        return ()
    if len(raw) > MOST_CUTS:
        found.add(
            path,
            say("{count} values", count=len(raw)),
            say("more than {most} cut lengths", most=MOST_CUTS),
            spec.allowed(),
            say("Give the gear steps, or the two ends of the range."),
        )
        return ()
    one = Spec("quantity", spec.meaning, spec.dimension, spec.low, spec.high, measure=spec.measure)
    values = [_quantity(one, item, (*path, index), found) for index, item in enumerate(raw)]
    for index, value in enumerate(values):
        if value is not None and value.uncertain:
            found.add(
                (*path, index),
                raw[index],
                say("a cut length on offer has no tolerance"),
                one.allowed(),
                say("Put the tolerance on cutterhead_speed."),
            )
    return tuple(sorted({value.nominal for value in values if value is not None}))


def _vector(spec: Spec, raw: Any, path: Path, found: Findings) -> tuple[Quantity, ...] | None:
    if not isinstance(raw, list) or len(raw) != spec.count:
        found.add(
            path,
            raw,
            say("not a list of {count}", count=spec.count),
            spec.allowed(),
            spec.to_measure,
        )
        return None
    one = Spec("quantity", spec.meaning, spec.dimension, spec.low, spec.high)
    values = [_quantity(one, item, (*path, index), found) for index, item in enumerate(raw)]
    if any(value is None for value in values):
        return None
    return tuple(value for value in values if value is not None)


def _direction(spec: Spec, raw: Any, path: Path, found: Findings) -> tuple[float, ...] | None:
    numbers = (
        isinstance(raw, list)
        and len(raw) == 3
        and all(
            isinstance(item, (int, float)) and not isinstance(item, bool) and isfinite(item)
            for item in raw
        )
    )
    if not numbers or not any(raw):
        found.add(path, raw, say("not a direction"), spec.allowed())
        return None
    return tuple(float(item) for item in raw)
