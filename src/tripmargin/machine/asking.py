"""The questions of `machine new`: what a person in the yard can answer, and the file it becomes.

Nothing here prints or waits: the command line asks, this decides what to ask and what an answer
means.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import MachineFileError, Problem
from tripmargin.ground.languages import say
from tripmargin.machine.allowed import TYPED, allowed
from tripmargin.machine.answer_values import spoken, value_of
from tripmargin.machine.cautions import CAUTIONS, NEAR_THE_MACHINE, REMINDER, while_running
from tripmargin.machine.fields import Spec, specs_of
from tripmargin.machine.files import Sheet, merged, read_sheets
from tripmargin.machine.loading import machine_from
from tripmargin.machine.model import SECTIONS, Machine
from tripmargin.machine.odd_answers import odd_answer
from tripmargin.machine.typed_answers import spelled_answer

# Asked although no tool measures them; every field with a `measure` is asked as well.
_KNOWN_BY_HEART = (
    "machine.name",
    "machine.description",
    "machine.serial",
    "chain.hold_winding.suppression",
    "limits.must_stop",
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
    def meaning(self) -> str:
        """What the field is, in the reader's words."""
        return say(self.spec.meaning)

    @property
    def near(self) -> bool:
        """Whether answering it sends hands near the machine."""
        return self.path[0] in NEAR_THE_MACHINE

    @property
    def while_running(self) -> str:
        """How it is read while the machine runs, and nobody near; empty where all is at rest."""
        return while_running(self.name)

    def allowed(self) -> str:
        """What may be answered, in words."""
        if self.path[-1] == "suppression":
            return say('"diode 0.8 V", "zener 24 V", "resistor 82 ohm" or "none"')
        if self.spec.kind == "text":
            return say("words")
        if self.spec.kind == "lengths":
            return allowed(self.spec, say(TYPED))
        return self.spec.allowed()

    def left_out(self, *, spelled: bool = False) -> str:
        """What happens if nobody answers; `spelled`: values as the language writes them."""
        if self.from_sheet:
            value = spelled_answer(self, self.from_sheet) if spelled else self.from_sheet
            return say("the type sheet's {value}", value=value)
        if self.path == ("machine", "name"):
            return say("the file's name")
        if self.spec.assumed is None:
            return say("not known; an answer that needs it will say so")
        value = spoken(self.spec.assumed)
        return say("assumed: {value}", value=spelled_answer(self, value) if spelled else value)


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
        what = say("the same name twice") if names else say("no name")
        raise MachineFileError(
            [
                Problem(
                    say("your answer"),
                    None,
                    "chain.pawls",
                    text,
                    what,
                    say('names such as "lower, upper"'),
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
        sheet = Sheet(say("your answer"), b"", tables_of(values))
        return machine_from((sheet, *self.sheets), say("your answer"))

    def file_text(self) -> str:
        """The machine file, commented."""
        from tripmargin.machine.answered_file import text_of

        return text_of(self)


def section_of(path: tuple[str, ...]) -> bool:
    """Whether a type sheet may speak for this field: not for who the machine is."""
    return path not in (("machine", "name"), ("machine", "serial"))


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
