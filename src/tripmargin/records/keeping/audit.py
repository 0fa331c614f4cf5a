"""Who changed what: one line for each change in people, machines and settings."""

from __future__ import annotations

from typing import Any

from tripmargin.ground.languages import later, say
from tripmargin.records.store.models import AuditLine, Person

CHANGES = {
    "came in by link": later("came in by link"),
    "class ended": later("class ended"),
    "class opened": later("class opened"),
    "import": later("import"),
    "invitation taken back": later("invitation taken back"),
    "invited": later("invited"),
    "machine added": later("machine added"),
    "machine brought back": later("machine brought back"),
    "machine put away": later("machine put away"),
    "owner's link made": later("owner's link made"),
    "password changed": later("password changed"),
    "password link made": later("password link made"),
    "password not changed": later("password not changed"),
    "password renewed by link": later("password renewed by link"),
    "role changed": later("role changed"),
    "sign-in refused": later("sign-in refused"),
    "signed in": later("signed in"),
    "signed out everywhere": later("signed out everywhere"),
    "switched off": later("switched off"),
    "switched on": later("switched on"),
    "test piece added": later("test piece added"),
    "test piece taken out": later("test piece taken out"),
    "type sheet": later("type sheet"),
    "version added": later("version added"),
}
"""What a line is kept as, and how people read it."""


def change_said(what: str) -> str:
    """What was changed, as people read it; a word that is not known as it stands.

    >>> change_said("role changed")
    'role changed'
    """
    return say(CHANGES.get(what, what))


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
