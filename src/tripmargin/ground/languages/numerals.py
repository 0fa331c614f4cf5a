"""Numbers as a language writes them: with a point, or with a comma."""

from __future__ import annotations

from collections.abc import Mapping
from string import Formatter
from typing import Any

from tripmargin.ground.languages.catalogue import POINT, decimal_sign


def numeral(value: float, form: str = "") -> str:
    """A number in a form of Python's format language, with the language's decimal sign.

    >>> numeral(3.25, ".1f")
    '3.2'
    """
    return _in_language(format(value, form), decimal_sign())


def fill(message: str, values: Mapping[str, Any]) -> str:
    """A message with its values; numbers among them get the language's decimal sign."""
    sign = decimal_sign()
    if sign == POINT:
        return message.format(**values)
    return _Filler(sign).vformat(message, (), values)


class _Filler(Formatter):
    def __init__(self, sign: str) -> None:
        self.sign = sign

    def format_field(self, value: Any, format_spec: str) -> Any:
        text = super().format_field(value, format_spec)
        # A number, numpy's too: anything that knows how to be a float and is no text.
        if hasattr(value, "__float__"):
            return _in_language(text, self.sign)
        return text


def _in_language(text: str, sign: str) -> str:
    """A formatted number: the point becomes the sign, a comma between thousands a narrow space.

    SI brochure, 9th edition, 5.4.4: either sign may mark decimals; thousands are parted by a
    space.
    """
    if sign == POINT:
        return text
    return text.replace(",", "\u202f").replace(".", sign)
