"""What the standard library's reader of TOML says of a text, in the reader's language."""

from __future__ import annotations

import re

from tripmargin.ground.languages import later, say

_PLACE = re.compile(r"\s*\(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)")
_SAID = (
    later("Invalid statement"),
    later("Expected newline or end of document after a statement"),
    later("Cannot overwrite a value"),
    later("Expected ']' at the end of a table declaration"),
    later("Expected ']]' at the end of an array declaration"),
    later("Expected '=' after a key in a key/value pair"),
    later("Invalid initial character for a key part"),
    later("Unclosed array"),
    later("Unclosed inline table"),
    later("Unescaped '\\' in a string"),
    later("Invalid hex value"),
    later("Escaped character is not a Unicode scalar value"),
    later("Unterminated string"),
    later("Invalid date or datetime"),
    later("Invalid value"),
)
_ABOUT = (
    (r"Expected (?P<text>.+)", later("Expected {text}")),
    (r"Found invalid character (?P<text>.+)", later("Found invalid character {text}")),
    (r"Illegal character (?P<text>.+)", later("Illegal character {text}")),
    (r"Cannot declare (?P<text>.+) twice", later("Cannot declare {text} twice")),
    (r"Cannot redefine namespace (?P<text>.+)", later("Cannot redefine namespace {text}")),
    (
        r"Cannot mutate immutable namespace (?P<text>.+)",
        later("Cannot mutate immutable namespace {text}"),
    ),
    (r"Duplicate inline table key (?P<text>.+)", later("Duplicate inline table key {text}")),
)


def toml_words(error: Exception, *, place: bool = False) -> str:
    r"""What is wrong, and where if that is asked for.

    >>> toml_words(ValueError("Unclosed array (at line 3, column 7)"))
    'Unclosed array'
    >>> toml_words(ValueError("Illegal character '\\n' (at end of document)"), place=True)
    "Illegal character '\\n' (at end of document)"
    """
    text = str(error)
    where = _PLACE.search(text)
    said = _words(_PLACE.sub("", text)) if text else say("nested too deeply")
    if where is None or not place:
        return said
    if where["line"] is None:
        return say("{said} (at end of document)", said=said)
    line, column = int(where["line"]), int(where["column"])
    return say("{said} (at line {line}, column {column})", said=said, line=line, column=column)


def _words(said: str) -> str:
    if said in _SAID:
        return say(said)
    for pattern, message in _ABOUT:
        if match := re.fullmatch(pattern, said):
            return say(message, text=match["text"])
    return said
