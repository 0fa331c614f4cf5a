"""Test pieces that the yard owns: each one bought or lost is a line of the audit.

The lines are the list: what was added and not taken out since. So it is only ever added to, says
who and when, lies in every back-up, and two people who change it at once lose nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db.models import Max

from tripmargin.ground.decimal_commas import spelled
from tripmargin.ground.errors import TripmarginError, shortened
from tripmargin.ground.languages import later, say
from tripmargin.records.keeping.audit import note_change
from tripmargin.records.keeping.in_turn import writing_in_turn
from tripmargin.records.kinds import KINDS, EntryError
from tripmargin.records.kinds.fields import HOW_IT_LAY
from tripmargin.records.store.models import AuditLine, Person

if TYPE_CHECKING:
    from tripmargin.sensing.pieces import Piece

ADDED, TAKEN = "test piece added", "test piece taken out"
MOST = 40
"""Pieces; the next to pass is chosen among all of them while a person waits."""
LONGEST = 100  # letters of a name
PIECES = later(
    'a ball such as "16 mm ball"; any other piece with how it lies: "M8x30 bolt along",'
    ' "across" or "upright"'
)
HOW_IT_LIES = later("how it lies is not said, and that changes its signal many times")


class PieceError(TripmarginError, ValueError):
    """A piece that is not taken into the list; the text says why and what to do."""


def owned_names() -> tuple[str, ...]:
    """Names of the pieces that the yard owns, smallest ball first, others by name."""
    newest = (
        AuditLine.objects.filter(what__in=(ADDED, TAKEN)).values("about").annotate(last=Max("pk"))
    )
    lines = AuditLine.objects.filter(pk__in=[one["last"] for one in newest], what=ADDED)
    return tuple(sorted(lines.values_list("about", flat=True), key=_order))


def owned_pieces() -> tuple[Piece, ...]:
    """The pieces themselves, each under its name here, which says how it lies.

    One whose name is not understood any more is left out.
    """
    from dataclasses import replace

    from tripmargin.sensing.pieces import Piece

    made = []
    for name in owned_names():
        try:
            made.append(replace(Piece.from_text(name), name=name))
        except ValueError:
            continue
    return tuple(made)


def add_piece(said: str, *, who: Person) -> str:
    """Take a piece into the list, once; the name under which it stands.

    Raises
    ------
    PieceError
        If it is no piece, lies in no attitude, or the list is full.
    """
    name = _name_of(said)
    with writing_in_turn():
        there = owned_names()
        if name in there:
            return name
        if len(there) >= MOST:
            raise PieceError(
                say("The list has {most} pieces.\nAllowed: {most}.\nTake one out first.", most=MOST)
            )
        note_change(ADDED, name, who=who)
    return name


def take_out_piece(name: str, *, who: Person) -> None:
    """Take a piece out of the list; one that is not in it stays out."""
    with writing_in_turn():
        if name in owned_names():
            note_change(TAKEN, name, who=who)


def _name_of(said: str) -> str:
    """The piece's own name, so that "16mm ball" and "16 mm ball" are one."""
    from tripmargin.sensing.pieces import Piece

    field = KINDS["test pass"].field_of("piece")
    assert field is not None
    if not said.strip():
        raise PieceError(say("Needed, and left empty.\nAllowed: {allowed}.", allowed=say(PIECES)))
    try:
        text = str(field.read(said.strip(), "piece"))
    except EntryError as error:
        wrong = error.wrong[0]
        # A log tells how a piece lay; here it is said how it will lie.
        problem = say(HOW_IT_LIES) if wrong.problem == say(HOW_IT_LAY) else wrong.problem
        seen = spelled(shortened(said.strip(), 40))
        lines = [
            say("“{seen}”: {problem}.", seen=seen, problem=problem),
            say("Allowed: {allowed}.", allowed=say(PIECES)),
        ]
        raise PieceError("\n".join([*lines, wrong.hint] if wrong.hint else lines)) from error
    piece = Piece.from_text(text)
    name = piece.name if piece.kind == "ball" else " ".join(text.split())
    if not name or len(name) > LONGEST:
        raise PieceError(
            say(
                "{name}: too long.\nAllowed: at most {most} letters.",
                name=shortened(name),
                most=LONGEST,
            )
        )
    return name


def _order(name: str) -> tuple[bool, float, str]:
    number = name.partition(" ")[0]
    is_ball = " ball" in name and number.replace(".", "", 1).isdecimal()
    return (not is_ball, float(number) if is_ball else 0.0, name)
