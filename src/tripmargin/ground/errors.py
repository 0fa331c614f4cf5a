"""What can go wrong with what a person wrote down, said so that the person can mend it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any


def say(message: str, /, **values: Any) -> str:
    """As `ground.languages.say`, fetched when needed: the languages refuse in these errors."""
    from tripmargin.ground.languages import say as said

    return said(message, **values)


class TripmarginError(Exception):
    """Anything that this package refuses; its text is meant for the person at the keyboard."""


class QuantityError(TripmarginError, ValueError):
    """A text that is not a quantity with a unit.

    `.value` is the text seen, `.problem` what is wrong with it, `.allowed` what would do,
    `.hint` how to mend it.
    """

    def __init__(self, value: str, problem: str, allowed: str, hint: str = "") -> None:
        self.value, self.problem, self.allowed, self.hint = value, problem, allowed, hint
        text = say(
            '"{value}": {problem}.\n  Allowed: {allowed}.',
            value=shortened(value),
            problem=problem,
            allowed=allowed,
        )
        super().__init__(f"{text}\n  {hint}" if hint else text)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a machine file: where, what was seen, what is allowed, how to mend it."""

    file: str
    line: int | None
    field: str
    value: str
    problem: str
    allowed: str
    hint: str = ""

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else self.file
        seen = f" = {self.value}" if self.value else ""
        what = f"{self.field}{seen}: " if self.field else ""
        lines = [f"{where}: {what}{self.problem}."]
        if self.allowed:
            lines.append(say("  Allowed: {allowed}.", allowed=self.allowed))
        if self.hint:
            lines.append(f"  {self.hint}")
        return "\n".join(lines)


class MachineFileError(TripmarginError, ValueError):
    """A machine file that cannot be read as it stands.

    `.problems` holds every problem found; `.file`, `.line`, `.field`, `.value`, `.allowed` and
    `.hint` are those of the first.
    """

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        first = self.problems[0]
        self.file, self.line, self.field = first.file, first.line, first.field
        self.value, self.allowed, self.hint = first.value, first.allowed, first.hint
        super().__init__("\n".join(str(problem) for problem in self.problems))


class NotKnownError(TripmarginError):
    """An answer needs fields that the machine file does not give.

    `.answer` names the answer, in English, marked with `later` where it is handed over; `.needs`
    the fields, in the file's own words.
    """

    def __init__(self, answer: str, needs: Sequence[str]) -> None:
        self.answer, self.needs = answer, tuple(needs)
        super().__init__(
            say(
                "Not known: {answer} needs {needs}, which the machine file does not give.\n"
                "  The page on measuring a machine says how a yard gets most of it; the rest comes"
                " from a type sheet.",
                answer=say(answer) if answer else "",
                needs=", ".join(self.needs),
            )
        )


def shortened(text: str, most: int = 60) -> str:
    """The text, or its beginning where it is long: an error is read on a phone.

    >>> shortened("x" * 100, most=8)
    'xxxxxxxx...'
    """
    return text if len(text) <= most else text[:most] + "..."


def nearest(word: str, known: Sequence[str]) -> str | None:
    """The known word that looks most like the one seen, or None where none comes near.

    >>> nearest("treshold", ["threshold", "gain"])
    'threshold'
    """
    import difflib

    found = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    return found[0] if found else None
