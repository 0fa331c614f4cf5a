"""How large a row of a back-up may be: each value as an upload or a form would take it, none more.

How many rows there are is not limited: a back-up of many years is restored whole.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.db import models

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import later, say
from tripmargin.machine.files import LARGEST as LARGEST_FILE
from tripmargin.records.keeping.copy_sizes import copy_troubles, text_troubles
from tripmargin.records.keeping.photos import LARGEST as LARGEST_PHOTO
from tripmargin.records.keeping.sizes import LONGEST_KEY, too_deep
from tripmargin.records.kinds.fields import LONGEST_TEXT
from tripmargin.records.kinds.reading import MOST_VALUES

_LETTERS = {("entry", "note"): LONGEST_TEXT, ("machineversion", "text"): LARGEST_FILE,
            ("typesheetversion", "text"): LARGEST_FILE}  # fmt: skip
_BYTES = {("photo", "content"): LARGEST_PHOTO, ("photo", "small"): 1_000_000,
          ("caseline", "content"): 100_000}  # fmt: skip
"""A small photo has 480 pixels; a line of a case a sentence of 1000 letters, and a copy of a
machine's digest."""
LARGEST_JSON = 8 * LARGEST_FILE
"""Letters of the other values that are kept as JSON, as text: what a proof says, an audit's
detail."""


LETTERS = later("{column}: {seen} letters, at most {most} are taken")
BYTES = later("{column}: {seen} bytes, at most {most} are taken")
VALUES = later("{column}: {seen} values, at most {most} are taken")


class TooLargeError(TripmarginError, ValueError):
    """A value that no form and no upload would have taken."""


def refuse_too_large(row: models.Model) -> None:
    """Look at each value of a row that is not saved yet; SQLite itself holds none to its length.

    Raises
    ------
    TooLargeError
        With the column, what was seen and what is allowed.
    """
    name = str(row._meta.model_name)
    for field in row._meta.concrete_fields:
        value = getattr(row, field.attname)
        if value is not None:
            _look(name, field, value)


def _look(name: str, field: Any, value: Any) -> None:
    key = (name, field.attname)
    if isinstance(field, models.JSONField):
        _LOOK_INTO.get(key, _no_larger)(field.attname, value)
    elif isinstance(field, models.BinaryField):
        _held(field.attname, len(value), _BYTES.get(key, LARGEST_PHOTO), BYTES)
    elif isinstance(value, str):
        most = field.max_length or _LETTERS.get(key, LARGEST_FILE)
        _held(field.attname, len(value), most)
        if key == ("typesheetversion", "text"):
            _refuse("text", text_troubles(value, say("the type sheet")))


def _held(column: str, seen: int, most: int, words: str = LETTERS) -> None:
    if seen > most:
        raise TooLargeError(say(words, column=column, seen=seen, most=most))


def _entry_values(column: str, values: Any) -> None:
    if not isinstance(values, Mapping):
        raise TooLargeError(say("{column}: not an object", column=column))
    _held(column, len(values), MOST_VALUES, VALUES)
    for key, value in values.items():
        _held(say("{column}, a key", column=column), len(key), LONGEST_KEY)
        if isinstance(value, str):
            _held(f"{column}, {key[:60]}", len(value), LONGEST_TEXT)
        elif not isinstance(value, bool | int | float):
            raise TooLargeError(
                say(
                    "{column}, {key}: neither a text, a number, nor yes or no",
                    column=column,
                    key=key[:60],
                )
            )


def _machine_copy(column: str, copy: Any) -> None:
    _refuse(column, copy_troubles(copy))


def _no_larger(column: str, value: Any) -> None:
    if too_deep(value):
        raise TooLargeError(say("{column}: nested too deeply", column=column))
    left, letters = [value], 0
    while left:
        one = left.pop()
        if isinstance(one, dict | list):
            left += [*one, *one.values()] if isinstance(one, dict) else one
        letters += len(one) if isinstance(one, str) else 8
    _held(column, letters, LARGEST_JSON)


def _refuse(column: str, problems: Any) -> None:
    if problems:
        one = problems[0]
        field = f"{one.field} = {one.value}" if one.value else one.field
        raise TooLargeError(
            say(
                "{column}: {field}: {problem}, allowed: {allowed}",
                column=column,
                field=field,
                problem=one.problem,
                allowed=one.allowed,
            )
        )


_LOOK_INTO: dict[tuple[str, str], Callable[[str, Any], None]] = {
    ("entry", "values"): _entry_values,
    ("machineversion", "copy"): _machine_copy,
}
