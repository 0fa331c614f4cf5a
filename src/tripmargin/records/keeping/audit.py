"""Who changed what: one line for each change in people, machines and settings."""

from __future__ import annotations

from typing import Any

from tripmargin.records.store.models import AuditLine, Person


def note_change(
    what: str,
    about: str = "",
    *,
    who: Person | None = None,
    who_name: str = "",
    address: str = "",
    **detail: Any,
) -> AuditLine:
    """Add a line; within the transaction of the change that it tells of."""
    line: AuditLine = AuditLine.objects.create(
        who=who,
        who_name=str(who) if who else who_name,
        what=what,
        about=about[:200],
        detail=detail,
        address=address,
    )
    return line
