"""The questions of `machine new`: what a person in the yard can answer, and the file it becomes.

Nothing here prints or waits: the command line asks, this decides what to ask and what an answer
means.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import MachineFileError, Problem
from tripmargin.ground.units import DIMENSIONS
from tripmargin.machine.cautions import CAUTIONS, NEAR_THE_MACHINE, REMINDER, RUNNING
from tripmargin.machine.fields import Spec, specs_of
from tripmargin.machine.files import Sheet, merged, read_sheets
from tripmargin.machine.loading import machine_from
from tripmargin.machine.model import SECTIONS, Machine
from tripmargin.machine.odd_answers import odd_answer

# Asked although no tool measures them; every field with a `measure` is asked as well.
_KNOWN_BY_HEART = (
    "machine.name",
    "machine.description",
    "machine.serial",
    "chain.hold_winding.suppression",
    "limits.must_stop",
)
_SUPPRESSION = re.compile(
    r"(?P<kind>none|resistor|diode|zener)\b[\s,]*(?P<value>.*?)\s*", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Question:
    """One question: where its answer goes, what it means, what the type sheet says already."""

    path: tuple[str, ...]
    spec: Spec
    from_sheet: str = ""

    @property
    def name(self) -> str:
        """The field's dotted path."""
        return ".".join(self.path)

    @property
    def near(self) -> bool:
        """Whether answering it sends hands near the machine."""
        return self.path[0] in NEAR_THE_MACHINE

    @property
    def while_running(self) -> str:
        """How it is read while the machine runs, and nobody near; empty where all is at rest."""
        return RUNNING.get(self.name, "")

    def allowed(self) -> str:
        """What may be answered, in words."""
        if self.path[-1] == "suppression":
            return '"diode 0.8 V", "zener 24 V", "resistor 82 ohm" or "none"'
        if self.spec.kind == "text":
            return "words"
        if self.spec.kind == "lengths":
            return self.spec.allowed().replace('["5 mm", "8 mm"]', '"5 mm, 8 mm"')
        return self.spec.allowed()

    def left_out(self) -> str:
        """What happens if nobody answers."""
        if self.from_sheet:
            return f"the type sheet's {self.from_sheet}"
        if self.path == ("machine", "name"):
            return "the file's name"
        if self.spec.assumed is None:
            return "not known; an answer that needs it will say so"
        return f"assumed: {spoken(self.spec.assumed)}"


@dataclass(slots=True)
class Answers:
    """What was answered so far, and the type sheets below it."""

    us: bool = False
    extends: str = ""
    pawls: tuple[str, ...] = ("lower", "upper")
    sheets: tuple[Sheet, ...] = ()
    values: dict[tuple[str, ...], Any] = field(default_factory=dict)

    def take_sheet(self, name: str, folder: Path) -> None:
        """Build on a type sheet beside the new file.

        Raises
        ------
        MachineFileError
            If it cannot be read, or does not hold together.
        """
        sheets = read_sheets(folder / name)
        machine_from(sheets, name)
        self.extends, self.sheets = name, sheets

    @property
    def sheet_has_pawls(self) -> bool:
        """Whether the type sheet says which pawls there are."""
        chain = merged(self.sheets).get("chain", {}) if self.sheets else {}
        return bool(chain.get("pawls"))

    def take_pawls(self, text: str) -> None:
        """Take the pawls' names.

        Raises
        ------
        MachineFileError
            If two are the same, or one is no name.
        """
        names = tuple(part.strip() for part in text.split(",") if part.strip())
        self._machine({("chain", "pawls", name, "clearance"): "3 mm" for name in names})
        if names and len(set(names)) == len(names):
            self.pawls = names
            return
        what = "the same name twice" if names else "no name"
        raise MachineFileError(
            [
                Problem(
                    "your answer", None, "chain.pawls", text, what, 'names such as "lower, upper"'
                )
            ]
        )

    def questions(self) -> tuple[Question, ...]:
        """Every question, in the file's order."""
        return tuple(self._questions())

    def _questions(self) -> Iterator[Question]:
        below = merged(self.sheets) if self.sheets else {}
        for section, (cls, _) in SECTIONS.items():
            yield from self._below(cls, (section,), below.get(section, {}))

    def _below(self, cls: type, path: tuple[str, ...], sheet: Any) -> Iterator[Question]:
        for name, spec in specs_of(cls).items():
            place = (*path, name)
            given = sheet.get(name) if isinstance(sheet, dict) else None
            if spec.kind == "tables" and name == "pawls" and spec.table is not None:
                named = {item["name"]: item for item in given or []}
                for pawl in named or self.pawls:
                    yield from self._below(spec.table, (*place, pawl), named.get(pawl, {}))
            elif spec.measure or ".".join(place) in _KNOWN_BY_HEART:
                said = spoken(given) if given is not None and section_of(place) else ""
                yield Question(place, spec, said)
            elif spec.kind == "table" and spec.table is not None and not spec.optional:
                yield from self._below(spec.table, place, given)

    def answer(self, question: Question, text: str) -> Any:
        """Take an answer; the value as it goes into the file.

        Raises
        ------
        MachineFileError
            If the answer cannot stand, with what is allowed and how to mend it.
        """
        odd = odd_answer(question.name, question.spec.kind, question.allowed(), text)
        if odd is not None:
            raise MachineFileError([odd])
        value = value_of(question, text, us=self.us)
        tried = self.values | {question.path: value}
        self._machine(tried)
        self.values = tried
        return value

    def value(self, question: Question, text: str) -> Any:
        """An answer as it would go into the file; not checked."""
        return value_of(question, text, us=self.us)

    def leave_out(self, question: Question) -> None:
        """Take back an answer."""
        self.values.pop(question.path, None)

    def _machine(self, values: dict[tuple[str, ...], Any]) -> Machine:
        sheet = Sheet("your answer", b"", tables_of(values))
        return machine_from((sheet, *self.sheets), "your answer")

    def file_text(self) -> str:
        """The machine file, commented."""
        lines = [
            "# Written by `tripmargin machine new`. Quantities are texts with their units;",
            '# "a +- b" and "a .. b" are limits, "a +- b (sd)" has a standard deviation.',
            "format = 1",
        ]
        if self.extends:
            lines.append(f"extends = {_toml(self.extends)}")
        table: tuple[str, ...] = ()
        for question in self.questions():
            if question.path[:-1] != table:
                table = question.path[:-1]
                lines += self._heading(table)
            lines.append(self._line(question))
        return "\n".join([*lines, ""])

    def _heading(self, table: tuple[str, ...]) -> list[str]:
        if table[:2] == ("chain", "pawls"):
            return ["", "[[chain.pawls]]", f"name = {_toml(table[2])}"]
        return ["", f"[{'.'.join(table)}]"]

    def _line(self, question: Question) -> str:
        name, meaning = question.path[-1], question.spec.meaning
        if question.path in self.values:
            return f"{name} = {_toml(self.values[question.path])}  # {meaning}"
        return f"# {name}: {meaning}. Left out: {question.left_out()}."


def section_of(path: tuple[str, ...]) -> bool:
    """Whether a type sheet may speak for this field: not for who the machine is."""
    return path not in (("machine", "name"), ("machine", "serial"))


def value_of(question: Question, text: str, *, us: bool) -> Any:
    """An answer as it goes into the file; a bare number takes the usual unit.

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


def tables_of(values: dict[tuple[str, ...], Any]) -> dict[str, Any]:
    """Answers as the tables of a file; pawls become an array of named tables."""
    tables: dict[str, Any] = {"format": 1}
    for path, value in values.items():
        if path[:2] == ("chain", "pawls"):
            pawls = tables.setdefault("chain", {}).setdefault("pawls", [])
            pawl = next((p for p in pawls if p["name"] == path[2]), None)
            if pawl is None:
                pawl = {"name": path[2]}
                pawls.append(pawl)
            pawl[path[3]] = value
            continue
        table = tables
        for part in path[:-1]:
            table = table.setdefault(part, {})
        table[path[-1]] = value
    if "machine" in tables:
        tables["machine"].setdefault("name", "unnamed")
    return tables


def _toml(value: Any) -> str:
    """A value as TOML writes it; JSON's texts are TOML's basic strings."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    # A DEL is the one character that JSON leaves bare and TOML does not.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def spoken(value: Any) -> str:
    """A value of the file in words.

    >>> spoken(["6 mm", "9 mm"]), spoken({"kind": "diode", "voltage": "0.8 V"})
    ('6 mm, 9 mm', 'kind diode, voltage 0.8 V')
    """
    if isinstance(value, dict):
        return ", ".join(f"{key} {spoken(item)}" for key, item in value.items())
    if isinstance(value, list):
        return ", ".join(spoken(item) for item in value)
    return str(value)


__all__ = [
    "CAUTIONS",
    "NEAR_THE_MACHINE",
    "REMINDER",
    "Answers",
    "MachineFileError",
    "Question",
    "spoken",
    "tables_of",
    "value_of",
]
