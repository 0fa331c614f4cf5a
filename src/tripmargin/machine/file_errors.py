"""What is wrong with a machine file as a file: not there, not text, not TOML, extends astray."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tripmargin.ground.errors import MachineFileError, Problem, shortened
from tripmargin.ground.languages import say
from tripmargin.machine.toml_words import toml_words

if TYPE_CHECKING:
    from tripmargin.machine.files import Sheet


def toml_error(name: str, text: str, error: Exception) -> MachineFileError:
    """A text that is not TOML, with the line where the reader stopped."""
    where = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
    line = int(where[1]) if where else None
    lines = text.splitlines()
    seen = lines[line - 1].strip() if line and line <= len(lines) else ""
    said = toml_words(error)
    return MachineFileError(
        [
            Problem(
                name,
                line,
                "",
                seen,
                say("not TOML: {said}, near: {near}", said=said, near=seen[:60])
                if seen
                else say("not TOML: {said}", said=said),
                say('lines such as knives = 10 and slip = "0 % .. 6 %"'),
                say("Every text needs its quotation marks at both ends; each key stands once."),
            )
        ]
    )


def file_error(
    name: str, problem: str, allowed: str, hint: str = "", line: int | None = None
) -> MachineFileError:
    """Anything else wrong with a file."""
    return MachineFileError([Problem(name, line, "", "", problem, allowed, hint)])


def extends_error(sheet: Sheet, problem: str, hint: str, round_: list[str]) -> MachineFileError:
    """A type sheet that cannot be built on; `round_` are the files that go round in a circle."""
    from tripmargin.machine.positions import positions

    shown = f"{problem}: {' -> '.join(round_)}" if round_ else problem
    return MachineFileError(
        [
            Problem(
                sheet.name,
                positions(sheet.content).get(("extends",)),
                "extends",
                shortened(repr(sheet.tables.get("extends")).replace("'", '"')),
                shown,
                say('the file name of a type sheet, such as extends = "type.toml"'),
                hint,
            )
        ]
    )
