"""What a field of the machine file is: kind, range, what is assumed without it, how to measure it.

The model's dataclasses carry these specifications; loading, the published schema, the
questions of `machine new` and the reference page all read them from there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any, Literal

from tripmargin.ground.languages import later, say
from tripmargin.machine.allowed import allowed

Kind = Literal[
    "quantity",
    "text",
    "texts",
    "words",
    "choice",
    "flag",
    "sense",
    "lengths",
    "vector",
    "direction",
    "table",
    "tables",
    "named",
]

EMPTY = ("tables", "named", "lengths", "texts", "words")
"""Kinds whose value is an empty tuple where nothing is written."""


@dataclass(frozen=True, slots=True)
class Spec:
    """One field of the machine file.

    `low` and `high` are the least and the greatest value taken, SI. `assumed` is the text used
    where the file leaves the field out, with wide limits on purpose. `bare` fields are written as
    bare numbers. `optional` tables stay away when they are not written. `unless` names the field
    beside this one that takes its place: nothing is assumed where that one is written. `usual` is
    what is taken, without doubt and without a word, for a part that is fitted as such parts are.
    `keys` may stand in a table of texts, `needs` must. `tables` are the kinds of table that may
    stand under a name, by the word of their field `kind`. `meaning` and `measure` are in English,
    marked for the catalogues: `say(spec.meaning)`, `spec.to_measure`.
    """

    kind: Kind
    meaning: str
    dimension: str = "number"
    low: float | None = None
    high: float | None = None
    bare: bool = False
    whole: bool = False
    count: int | None = None
    required: bool = False
    optional: bool = False
    assumed: Any = None
    measure: str = ""
    choices: tuple[str, ...] = ()
    table: type | None = None
    unless: str = ""
    usual: Any = None
    keys: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    tables: Mapping[str, type] | None = None

    @property
    def holds_tables(self) -> bool:
        """Whether it is no value but what values stand in."""
        return self.kind in ("table", "tables", "named")

    def allowed(self) -> str:
        """What may stand here, in the reader's words."""
        return allowed(self)

    @property
    def to_measure(self) -> str:
        """How it is measured, in the reader's words; empty where no yard can."""
        return say(self.measure) if self.measure else ""


@dataclass(frozen=True, slots=True)
class FieldOfFile:
    """A field with its place in the file.

    `path` is dotted; arrays of tables end in `[]`; `<fuse>` stands for the name of any fuse.
    """

    path: str
    spec: Spec


def _field(spec: Spec) -> Any:
    empty: Any = () if spec.kind in EMPTY else None
    return field(default=empty, metadata={"spec": spec})


def measured(
    meaning: str,
    dimension: str,
    low: float | None = None,
    high: float | None = None,
    **more: Any,
) -> Any:
    """A quantity written as text with its unit."""
    return _field(Spec("quantity", meaning, dimension, low, high, **more))


def number(meaning: str, low: float | None = None, high: float | None = None, **more: Any) -> Any:
    """A quantity without a unit, written as a bare number, or as text with a tolerance."""
    return _field(Spec("quantity", meaning, "number", low, high, bare=True, **more))


def other(kind: Kind, meaning: str, **more: Any) -> Any:
    """A field of another kind: text, texts, words, choice, flag, sense, lengths, vector..."""
    return _field(Spec(kind, meaning, **more))


def table(cls: type, meaning: str, *, many: bool = False, **more: Any) -> Any:
    """A table, or an array of tables, below this one."""
    return _field(Spec("tables" if many else "table", meaning, table=cls, **more))


def named(tables: type | Mapping[str, type], meaning: str, **more: Any) -> Any:
    """Tables under names of the person's own, all alike or each of a kind."""
    if isinstance(tables, type):
        return _field(Spec("named", meaning, table=tables, **more))
    return _field(Spec("named", meaning, tables=tables, **more))


def specs_of(cls: type) -> dict[str, Spec]:
    """The fields of one table of the file, by name."""
    if not is_dataclass(cls):
        raise TypeError(f"{cls!r} is not a table of the machine file")
    return {f.name: f.metadata["spec"] for f in fields(cls) if "spec" in f.metadata}


def walk(cls: type, prefix: str = "") -> Iterator[FieldOfFile]:
    """Every field below a table, tables included, in the file's order."""
    for name, spec in specs_of(cls).items():
        path = f"{prefix}{name}" + ("[]" if spec.kind == "tables" else "")
        yield FieldOfFile(path, spec)
        if spec.kind == "named":
            yield from _walk_named(spec, path)
        elif spec.table is not None:
            yield from walk(spec.table, path + ".")


def _walk_named(spec: Spec, path: str) -> Iterator[FieldOfFile]:
    """Every field of the tables that may stand under a name."""
    kinds = spec.tables or ({"name": spec.table} if spec.table else {})
    for word, cls in kinds.items():
        meaning = specs_of(cls)["kind"].meaning if spec.tables else spec.meaning
        yield FieldOfFile(f"{path}.<{word}>", Spec("table", meaning, table=cls))
        yield from walk(cls, f"{path}.<{word}>.")


def all_fields() -> tuple[FieldOfFile, ...]:
    """Every field of the machine file."""
    from tripmargin.machine.model import SECTIONS

    found = [
        FieldOfFile(
            "format", Spec("quantity", later("version of the file's format: 1"), bare=True)
        ),
        FieldOfFile(
            "extends", Spec("text", later("type sheet that this file overrides key by key"))
        ),
    ]
    for name, (cls, meaning) in SECTIONS.items():
        found.append(FieldOfFile(name, Spec("table", meaning, table=cls, optional=True)))
        found.extend(walk(cls, name + "."))
    return tuple(found)
