"""What stands on every report: cautions first, what it is about, and where somebody signs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tripmargin.ground.languages import say
from tripmargin.pictures.words import SAFETY
from tripmargin.reports.paper.document import Block, Cautions, Space, Table, Words


def opening(cautions: Sequence[str]) -> Iterator[Block]:
    """The words on safety, and the cautions where hands go near the machine."""
    yield Words([say(SAFETY)], strong=True)
    if cautions:
        yield Cautions(say("Before anything is touched"), [say(one) for one in cautions])


def facts_table(rows: Sequence[tuple[str, str]]) -> Table:
    """What the report is about, a line each; what is not known is left out."""
    told = [row for row in rows if row[1]]
    return Table("", (say("About"), say("What is known")), told)


def to_sign(roles: Sequence[str]) -> Table:
    """Lines to sign on."""
    headers = (say("Role"), say("Name"), say("Date"), say("Signature"))
    space = (Space.WRITE, Space.WRITE, Space.WRITE)
    return Table("", headers, [(role, *space) for role in roles], shares=(22, 30, 18, 30))
