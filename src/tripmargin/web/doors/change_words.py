"""What the list of changes says of each besides: kept in English, and said when it is read."""

from __future__ import annotations

import re

from tripmargin.ground.languages import later, say
from tripmargin.records.keeping.invitations import SERVER
from tripmargin.web.doors.roles import role_said

_DETAILS = {
    "role": later("role"),
    "before": later("before"),
    "after": later("after"),
    "link made by": later("link made by"),
    "drills": later("drills"),
    "entries": later("entries"),
    "machines": later("machines"),
    "versions": later("versions"),
    "answers": later("fault-finding answers"),
    "sheets": later("type sheets"),
    "without_zone": later("times without a zone"),
    "sha256": later("checksum SHA-256"),
    SERVER: later("the server"),
}
_ROLE_KEYS = ("role", "before", "after")
_VERSION = re.compile(r"(?P<name>.+), version (?P<number>\d+)")


def detail_word(word: str) -> str:
    """What is said besides of a change, and who no person is; one not known as it stands."""
    return say(_DETAILS[word]) if word in _DETAILS else word


def about_said(about: str) -> str:
    """What a change was about: a name stays as it is, a version is said."""
    found = _VERSION.fullmatch(about)
    if found is None:
        return about
    return say("{name}, version {number}", name=found["name"], number=found["number"])


def detail_said(value: object, key: str) -> object:
    """One value of a change's details: a role, and who no person is, in the reader's language."""
    if key in _ROLE_KEYS:
        return role_said(str(value))
    return say(_DETAILS[SERVER]) if value == SERVER else value
