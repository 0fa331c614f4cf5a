"""New values written into a machine file's text: its comments and its layout stay as they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tripmargin.ground.errors import MachineFileError, Problem, QuantityError, shortened
from tripmargin.ground.languages import say
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.ground.restating import restated
from tripmargin.ground.units import written
from tripmargin.machine.fields import Spec, specs_of
from tripmargin.machine.files import tables_of
from tripmargin.machine.layout import Layout, as_toml
from tripmargin.machine.model import SECTIONS, Machine
from tripmargin.machine.toml_words import toml_words

Path = tuple[str, ...]


def with_values(text: str, values: Mapping[str, Any], *, machine: Machine | None = None) -> str:
    r"""A machine file's text with some fields set otherwise, and nothing else changed.

    Parameters
    ----------
    text : str
        A machine file, TOML.
    values : mapping of str to number, str, Quantity, list or dict
        Dotted path ("chain.pawls.lower.clearance"; an array's table by its `name`) to value. A
        number is in SI and keeps the tolerance, and the unit, of what stands there. A text is
        taken as it is, a Quantity as its text. A dict is a whole table
        ({"kind": "zener", "voltage": 24.0}): what it does not name is taken out.
    machine : Machine, optional
        The machine as it is loaded. Its tolerance is kept for a field that its type sheet gives;
        the file then overrides the sheet.

    Returns
    -------
    str
        To be read again: that the values are allowed is not checked here.

    Raises
    ------
    MachineFileError
        If the text is not TOML, a field is unknown, or the text is written so that the field
        cannot be put into it.

    Examples
    --------
    >>> print(with_values('[chain]\nsupply = "13 V +- 1 V"  # at idle', {"chain.supply": 14.0}))
    [chain]
    supply = "14 V +- 1 V"  # at idle
    """
    tables = _read(text)
    for name, value in values.items():
        place = _Place.of(name)
        written = _as_written(place.spec, value, _given(tables, place, machine))
        text = _put(text, tables, place, written)
        tables = _read(text)
    return text


def field_spec(name: str) -> Spec:
    """What a field is, by its dotted path; an array's table by any name.

    Raises
    ------
    MachineFileError
        If there is no such field.

    Examples
    --------
    >>> field_spec("chain.pawls.lower.clearance").dimension
    'length'
    """
    return _Place.of(name).spec


def _read(text: str) -> dict[str, Any]:
    try:
        return tables_of(text)
    except (ValueError, RecursionError) as error:
        raise _refused(
            "", shortened(text, 40), say("not TOML: {said}", said=toml_words(error, place=True))
        ) from error


@dataclass(frozen=True, slots=True)
class _Place:
    """A field: its path, what it is, and which part of the path is the name of an array's table."""

    path: Path
    spec: Spec
    name_at: int | None

    @classmethod
    def of(cls, name: str) -> _Place:
        parts = tuple(name.split("."))
        table: type | None = SECTIONS[parts[0]][0] if parts[0] in SECTIONS else None
        spec: Spec | None = None
        name_at, at = None, 1
        while at < len(parts) and table is not None:
            spec = specs_of(table).get(parts[at])
            table = spec.table if spec is not None else None
            at += 1
            if spec is not None and spec.kind in ("tables", "named") and at < len(parts):
                name_at = at if spec.kind == "tables" else name_at
                at += 1
        if spec is None or at < len(parts) or spec.kind in ("tables", "named"):
            raise _refused(name, "", say("no such field of a machine file"))
        return cls(parts, spec, name_at)


def _given(tables: dict[str, Any], place: _Place, machine: Machine | None) -> Quantity | None:
    """The quantity as it stands: in the file, else as the machine has it."""
    if place.spec.kind != "quantity":
        return None
    found = _get(tables, place.path)
    if isinstance(found, str):
        try:
            return quantity(found, place.spec.dimension)
        except QuantityError:
            return None
    if found is not None or machine is None:
        return None
    try:
        given: Quantity | None = machine.get(".".join(place.path))
    except KeyError:
        return None
    return given


def _as_written(spec: Spec, value: Any, given: Quantity | None) -> Any:
    """A value as the file holds it."""
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, dict) and spec.table is not None:
        below = specs_of(spec.table)
        return {k: _as_written(below[k], v, None) if k in below else v for k, v in value.items()}
    if spec.kind != "quantity" or isinstance(value, str | bool):
        return value
    if given is not None and given.text:
        return restated(given, float(value), least=spec.low, most=spec.high)
    if spec.bare:
        return int(value) if float(value).is_integer() else float(value)
    return written(float(value), spec.dimension, digits=6)


def _put(text: str, tables: dict[str, Any], place: _Place, value: Any) -> str:
    """The text with one value in it: the first way to write it that gives just that."""
    path = place.path
    wanted = _with(tables, path, value, place.name_at)
    for made in Layout.of(text).ways(path, value, place.name_at):
        try:
            if tables_of(made) == wanted:
                return made
        except (ValueError, RecursionError):
            continue
    raise _refused(
        ".".join(path), as_toml(value), say("cannot be put into the text as it is written"),
        say("Write the field into the file by hand, and add the file as a new version."),
    )  # fmt: skip


def _get(tables: Any, path: Path) -> Any:
    for part in path:
        if isinstance(tables, list):
            tables = next(
                (t for t in tables if isinstance(t, dict) and t.get("name") == part), None
            )
        else:
            tables = tables.get(part) if isinstance(tables, dict) else None
    return tables


def _with(tables: Any, path: Path, value: Any, name_at: int | None) -> Any:
    """The tables with one value in them; a table of an array that is not there is added."""
    if not path:
        return value
    head, rest = path[0], path[1:]
    below_at = None if name_at is None else name_at - 1
    if name_at == 0:
        items = tables if isinstance(tables, list) else []
        names = [item.get("name") for item in items]
        at = names.index(head) if head in names else len(items)
        old = items[at] if at < len(items) else {"name": head}
        return [*items[:at], _with(old, rest, value, None), *items[at + 1 :]]
    below = tables if isinstance(tables, dict) else {}
    return {**below, head: _with(below.get(head), rest, value, below_at)}


def _refused(field: str, value: str, problem: str, hint: str = "") -> MachineFileError:
    allowed = say("a field of the machine file that `tripmargin machine show` lists")
    return MachineFileError([Problem(say("the file"), None, field, value, problem, allowed, hint)])
