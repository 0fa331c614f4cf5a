"""Signs that a terminal may lack and paper has."""

from __future__ import annotations

import re

_LIMITS = re.compile(r"(?<=\S) (?:\+-|\+/-) (?=[\d.,])")


def with_plus_minus(text: str) -> str:
    """Limits behind a value as print has them.

    >>> with_plus_minus("259 mm +- 3 mm"), with_plus_minus("no +- here")
    ('259 mm \N{PLUS-MINUS SIGN} 3 mm', 'no +- here')
    """
    return _LIMITS.sub(" \N{PLUS-MINUS SIGN} ", text)
