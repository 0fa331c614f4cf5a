"""Several things named in a row, as a language joins them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from tripmargin.ground.languages.saying import say


def listed(items: Iterable[str], joined: Literal["and", "or"] = "and") -> str:
    """Things in a row: commas, and the joining word before the last.

    Parameters
    ----------
    items : iterable of str
        Already said in the reader's language.
    joined : "and" or "or"

    Examples
    --------
    >>> listed(["a bolt", "a nut", "a ring"]), listed(["6 mm", "8 mm"], "or"), listed(["one"])
    ('a bolt, a nut and a ring', '6 mm or 8 mm', 'one')
    """
    named = list(items)
    if len(named) < 2:
        return "".join(named)
    before, *others, last = named
    for item in others:
        before = say("{before}, {item}", before=before, item=item)
    if joined == "or":
        return say("{before} or {last}", before=before, last=last)
    return say("{before} and {last}", before=before, last=last)
