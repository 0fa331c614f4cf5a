"""A sentence kept in parts, and said when it is asked for.

What is kept for long (a machine's faults, its states, a list of looks) outlives the language in
which it was made. So it holds phrases, and whoever shows one says it then, in his own language.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from tripmargin.ground.languages.lists import listed
from tripmargin.ground.languages.saying import say
from tripmargin.ground.languages.written import as_written


@dataclass(frozen=True, slots=True)
class Phrase:
    """A message and its values; `str()` says it in the language spoken then.

    Attributes
    ----------
    message : str
        As `say` takes it, marked for the catalogues by `later`.
    values : dict
        Numbers, other phrases, and a machine file's own texts (`own_words`).

    Examples
    --------
    >>> from tripmargin.ground.languages import later
    >>> where = Phrase(later("{part}: {fault}"), {"part": "W3", "fault": Phrase(later("broken"))})
    >>> str(where)
    'W3: broken'
    """

    message: str
    values: dict[str, Any] = field(default_factory=dict)

    def __str__(self) -> str:
        return say(self.message, **{name: _read(each) for name, each in self.values.items()})

    def of(self, **values: Any) -> Phrase:
        """The same message with some of its values changed."""
        return Phrase(self.message, self.values | values)


def _read(value: Any) -> Any:
    """A value as it is read: a text that stands by itself is a machine file's own."""
    return as_written(value) if isinstance(value, str) else value


Words = str | Phrase
"""What people read: a text as it stands, such as a machine file's own, or a phrase."""


@dataclass(frozen=True, slots=True)
class Listed:
    """Things in a row, as a value of a phrase; `str()` joins them in the language spoken then.

    >>> str(Listed(("W3", "F1")))
    'W3 and F1'
    """

    items: tuple[str, ...]

    def __str__(self) -> str:
        return listed(map(as_written, self.items))
