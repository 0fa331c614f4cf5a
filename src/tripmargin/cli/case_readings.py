"""What a person types at a card: a number, a key, or a word."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tripmargin.cli.case_words import keyed
from tripmargin.faultfinding.wording.readings import complaint_of

if TYPE_CHECKING:
    from tripmargin.faultfinding import Card


def answer_of(card: Card, text: str) -> str | None:
    """The word that a person means by a key or by the word itself; None where it is neither."""
    said = text.strip().lower()
    if card.kind == "ask":
        return complaint_of(said) if said else None
    keys = dict(keyed(card))
    if said in keys:
        return keys[said]
    return next((a.word for a in card.answers if said in (a.word.lower(), a.said.lower())), None)
