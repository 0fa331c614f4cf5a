"""A what-if: the same machine with some fields set otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from tripmargin.ground.errors import MachineFileError, Problem, nearest
from tripmargin.ground.languages import say
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.agreement import disagreements
from tripmargin.machine.fields import Spec, specs_of
from tripmargin.machine.model import SECTIONS, Machine, label
from tripmargin.machine.reading import Findings, dotted, read_value, written


def with_settings(machine: Machine, settings: Mapping[str, Any]) -> Machine:
    """The machine with some fields set otherwise.

    Parameters
    ----------
    machine : Machine
    settings : mapping
        Field to value. A field is a dotted path ("chain.pawls.lower.clearance"; an array's table
        by its `name` or its number from 0), or a last name that occurs once ("supply"), or for
        all tables of an array ("clearance": every pawl's); the wiring's always as a path. A value
        is a number in SI, a text as in the machine file, a ready `Quantity`, a dict of field names
        for a table ({"kind": "zener", "voltage": 24.0}), or a dict of table names for an array
        ({"lower": 0.006}).

    Raises
    ------
    MachineFileError
        If a field is unknown or a value is not allowed.
    """
    changed: list[str] = []
    wiring = machine.circuit, machine.checks
    for name, value in settings.items():
        for path, spec, part in _targets(machine, name, value):
            found = Findings()
            new = _new_value(spec, part, path, found)
            _refuse(found)
            machine = _put(machine, path, new)
            machine = _without_what_it_replaces(machine, path)
            changed.append(dotted(path))
    machine = replace(
        machine,
        changed=tuple(dict.fromkeys((*machine.changed, *changed))),
        assumed=tuple(a for a in machine.assumed if not _covered(a, changed)),
    )
    found = Findings()
    rewired = machine.circuit is not wiring[0] or machine.checks is not wiring[1]
    for field, seen, problem, allowed, hint in disagreements(machine, wiring=rewired):
        found.add(tuple(field.split(".")), seen, problem, allowed, hint)
    _refuse(found)
    return machine


def _without_what_it_replaces(machine: Machine, path: tuple[str, ...]) -> Machine:
    """Parts beside a time that was set: they would take its place, and the what-if do nothing."""
    for length in range(2, len(path) + 1):
        *above, name = path[:length]
        table = machine.get(".".join(above))
        spec = specs_of(type(table)).get(name) if is_dataclass(table) else None
        if spec is not None and spec.unless and getattr(table, spec.unless) is not None:
            machine = _put(machine, (*above, spec.unless), None)
    return machine


def _covered(assumed: str, changed: list[str]) -> bool:
    return any(assumed == path or assumed.startswith(path + ".") for path in changed)


def _refuse(found: Findings) -> None:
    if found.problems:
        raise MachineFileError(
            [
                Problem(say("what-if"), None, dotted(path), value, problem, allowed, hint)
                for path, value, problem, allowed, hint in found.problems
            ]
        )


_OF_THE_WIRING = ("circuit", "checks")
_ALL_BUT_THE_WIRING = tuple(section for section in SECTIONS if section not in _OF_THE_WIRING)

Target = tuple[tuple[str, ...], Spec, Any]


def _targets(machine: Machine, name: str, value: Any) -> list[Target]:
    """The places that a setting means, each with its value."""
    # So is the wiring, so that "suppression" is the hold winding's.
    first = name.partition(".")[0]
    sections = (first,) if first in _OF_THE_WIRING else _ALL_BUT_THE_WIRING
    places = list(_places(machine, sections))
    parts = tuple(name.split("."))
    hits = [(path, spec) for path, spec in places if path == parts]
    if not hits:
        numbered = [(p, s) for p, s in _places(machine, sections, numbers=True) if p == parts]
        hits = numbered or [(path, spec) for path, spec in places if path[-len(parts) :] == parts]
        # What is asked of the machine is set by its full path, so that "clearance" is the pawls'.
        hits = [(path, spec) for path, spec in hits if path[0] != "limits"] or hits
    if not hits:
        known = sorted({".".join(p) for p, _ in places} | {p[-1] for p, _ in places})
        near = nearest(name, known)
        raise MachineFileError(
            [
                Problem(
                    say("what-if"),
                    None,
                    name,
                    written(value),
                    say("no such field on this machine"),
                    say("a field of the machine file"),
                    say('Did you mean "{near}"?', near=near)
                    if near
                    else say("`tripmargin machine show` lists them."),
                )
            ]
        )
    if isinstance(value, dict) and hits[0][1].kind != "table":
        by_table = {path[-2] if len(path) > 1 else "": (path, spec) for path, spec in hits}
        unknown = [key for key in value if key not in by_table]
        if unknown:
            raise MachineFileError(
                [
                    Problem(
                        say("what-if"),
                        None,
                        f"{unknown[0]}.{name}",
                        written(value[unknown[0]]),
                        say("no such table on this machine"),
                        ", ".join(by_table),
                    )
                ]
            )
        return [(*by_table[key], part) for key, part in value.items()]
    tables = {path[:-2] for path, _ in hits}
    if len(hits) > 1 and len(tables) > 1:
        raise MachineFileError(
            [
                Problem(
                    say("what-if"),
                    None,
                    name,
                    written(value),
                    say("the name stands in several places"),
                    " | ".join(".".join(path) for path, _ in hits),
                    say("Write one of them in full."),
                )
            ]
        )
    return [(path, spec, value) for path, spec in hits]


def _places(
    machine: Machine, sections: tuple[str, ...], *, numbers: bool = False
) -> list[tuple[tuple[str, ...], Spec]]:
    """Every field of these sections on this machine, tables included, with its specification."""
    made: list[tuple[tuple[str, ...], Spec]] = []

    def below(value: Any, path: tuple[str, ...]) -> None:
        for name, spec in specs_of(type(value)).items():
            item = getattr(value, name)
            if spec.kind in ("tables", "named"):
                for index, one in enumerate(item):
                    below(one, (*path, name, str(index) if numbers else label(one, index)))
                continue
            made.append(((*path, name), spec))
            if spec.kind == "table" and item is not None:
                below(item, (*path, name))

    for section in sections:
        if (value := getattr(machine, section)) is not None:
            below(value, (section,))
    return made


def _new_value(spec: Spec, value: Any, path: tuple[str, ...], found: Findings) -> Any:
    if spec.kind == "table" and isinstance(value, dict) and spec.table is not None:
        below = specs_of(spec.table)
        value = {k: _in_si(below[k], v) if k in below else v for k, v in value.items()}
    return read_value(spec, _in_si(spec, value), path, found)


def _in_si(spec: Spec, value: Any) -> Any:
    """A bare number of a what-if is in SI."""
    if spec.kind == "quantity" and isinstance(value, (int, float)) and not spec.bare:
        return Quantity.exact(float(value), spec.dimension)
    return value


def _put(value: Any, path: tuple[str, ...], new: Any) -> Any:
    if not path:
        return new
    head, rest = path[0], path[1:]
    if isinstance(value, tuple):
        return tuple(
            _put(item, rest, new) if head in (label(item, i), str(i)) else item
            for i, item in enumerate(value)
        )
    if not is_dataclass(value) or head not in {f.name for f in fields(value)}:
        raise KeyError(head)
    return replace(value, **{head: _put(getattr(value, head), rest, new)})  # type: ignore[type-var]
