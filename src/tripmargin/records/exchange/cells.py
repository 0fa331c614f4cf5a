"""One cell of a CSV file: a value in SI, or a text that no spreadsheet takes for a formula."""

from __future__ import annotations

import json
import re
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.records.kinds.fields import NO, YES, EntryError, Field, Value, Wrong

# What a spreadsheet may take for a formula (OWASP, "CSV Injection"), wide forms and line feed too.
# A cell may also begin within a text: a spreadsheet that separates by semicolons or tabs splits
# there, whatever quotation marks stand around.
_STARTS = "=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_BEGIN = r"(?:\A|(?<=[;\t\r\n]))"
_RISKY = re.compile(f"""{_BEGIN}(?=['"]*[{_STARTS}])""")
_PROTECTED = re.compile(f"""{_BEGIN}'(?=['"]*[{_STARTS}])""")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?")


def protected(text: str) -> str:
    r"""A text with an apostrophe before it where a spreadsheet might take it for a formula.

    An apostrophe that stands before such a sign already is kept by one more, so that `unprotected`
    gives every text back as it was.

    >>> protected("=1+1"), protected("'=1"), protected("'tis"), protected("3 mm")
    ("'=1+1", "''=1", "'tis", '3 mm')
    >>> protected("loose;=1+1"), protected("loose; tight")
    ("loose;'=1+1", 'loose; tight')
    """
    return _RISKY.sub("'", text)


def unprotected(text: str) -> str:
    """The text that `protected` was given.

    >>> unprotected("'=1+1"), unprotected("'tis")
    ('=1+1', "'tis")
    """
    return _PROTECTED.sub("", text)


def cell_of(field: Field | None, value: Any) -> str:
    """A value as its cell: numbers bare and in SI, the others as text.

    >>> cell_of(None, -0.5)
    '-0.5'
    """
    if isinstance(value, str):
        return protected(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return json.dumps(one_way(field, value))


def one_way(field: Field | None, value: Any) -> Any:
    """A number in the one way that both databases give it back.

    A quantity is always a float, and no zero is negative: PostgreSQL's numbers know none.
    """
    if field is None or isinstance(value, bool) or not isinstance(value, int | float):
        return value
    if field.what == "count":
        return int(value) if value == int(value) else value
    return float(value) + 0.0


def value_of(field: Field, key: str, cell: str, *, decimal: str = ".") -> Value:
    """The value of a cell that is not empty.

    Raises
    ------
    EntryError
        If it is none that the field can hold.
    """
    if field.what in ("text", "choice"):
        return unprotected(cell)
    said = cell.strip()
    if field.what == "yes or no":
        if said.lower() in (*YES, *NO):
            return said.lower() in YES
        raise EntryError([Wrong(key, said, say("neither yes nor no"), field.allowed())])
    if decimal == ",":
        said = said.replace(",", ".")
    if field.what == "count":
        if said.isascii() and said.isdecimal() and len(said) < 10:
            return int(said)
        raise EntryError([Wrong(key, cell, say("not a whole number"), field.allowed())])
    if _NUMBER.fullmatch(said):
        return float(said) + 0.0
    comma = "," in said
    mend = (
        say(
            "Write a decimal point; or separate the columns by semicolons, and on the"
            " command line add --delimiter ';'."
        )
        if comma
        else say("Write the number alone, in SI: the end of the column's name is its unit.")
    )
    raise EntryError([Wrong(key, cell, say("not a number"), _in_si(field), mend)])


def _in_si(field: Field) -> str:
    return say("a number from {low:g} to {high:g}, in SI", low=field.low, high=field.high)
