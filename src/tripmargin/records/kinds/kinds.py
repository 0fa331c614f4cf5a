"""The kinds of entries that a log takes."""

from __future__ import annotations

from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import say
from tripmargin.records.kinds.fields import EntryError, Wrong, with_words
from tripmargin.records.kinds.happenings import HAPPENINGS
from tripmargin.records.kinds.keepings import KEEPINGS
from tripmargin.records.kinds.kind import Kind
from tripmargin.records.kinds.shared_fields import DAY
from tripmargin.records.kinds.works import WORKS

__all__ = ["DAY", "KINDS", "WITHDRAWN", "Kind", "kind_named"]

KINDS: dict[str, Kind] = {kind.name: kind for kind in (*HAPPENINGS, *WORKS, *KEEPINGS)}
WITHDRAWN = "withdrawn"
"""The kind of a correction that takes an entry back and puts nothing in its place."""


def kind_named(name: str) -> Kind:
    """The kind of this name.

    Raises
    ------
    EntryError
        If there is none.
    """
    if name in KINDS:
        return KINDS[name]
    near = nearest(name, list(KINDS))
    raise EntryError(
        [
            Wrong(
                "kind",
                name,
                say("no such kind of entry"),
                with_words({name: kind.title for name, kind in KINDS.items()}),
                say('Did you mean "{near}"?', near=near) if near else "",
            )
        ]
    )
