"""When a machine was left during a case: whoever comes back finds it at rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from tripmargin.faultfinding.cases.case_lines import Entry


@dataclass(frozen=True, slots=True)
class Leaving:
    """What tells that a machine was left.

    Attributes
    ----------
    at : tuple of int, optional
        Numbers of the entries after which it surely was.
    rest_after : timedelta
        Where so long nothing was entered, it was left too.
    opened : datetime
        Until when nothing was entered after the last entry.
    """

    at: tuple[int, ...] | None = None
    rest_after: timedelta = timedelta.max
    opened: datetime = field(default_factory=lambda: datetime.now().astimezone())

    def after(self, entries: Sequence[Entry], count: int) -> bool:
        """Whether it was left after so many of the entries; also where a time cannot be read."""
        if tuple(entry.n for entry in entries[:count]) == self.at:
            return True
        if self.rest_after == timedelta.max:
            return False
        at = _time_of(entries[count - 1])
        until = _time_of(entries[count]) if count < len(entries) else self.opened
        return at is None or until is None or until - at > self.rest_after


def _time_of(entry: Entry) -> datetime | None:
    try:
        at = datetime.fromisoformat(entry.at)
    except ValueError:
        return None
    return at if at.tzinfo else None
