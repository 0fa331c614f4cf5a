"""A card on a terminal: price, cautions, the way, what to do, what may be found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from tripmargin.cli.case_screen import Lines
from tripmargin.faultfinding.wording.card_words import (
    answer_note,
    before_words,
    daily_lines,
    price_words,
    question_of,
    reading_words,
    short_reasons,
    still_words,
    way_words,
    work_words,
)

if TYPE_CHECKING:
    from tripmargin.faultfinding import Card, Case


def card_lines(case: Case, card: Card, number: int, *, told: bool = False) -> list[str]:
    """A card as text; `told` leaves out the caution that was said at the start of the sitting."""
    from tripmargin.faultfinding.cases.cautions import FIRST

    lines = Lines()
    lines.rule(f"Card {number}")
    head = price_words(case.of, card)
    if head:
        lines.write(head)
        lines.gap()
    _cautions(lines, [each for each in card.cautions if not (told and each == FIRST)])
    _way(lines, case, card)
    _do(lines, case, card)
    lines.gap()
    _answers(lines, card)
    reasons = short_reasons(card)
    if reasons:
        lines.gap()
    for start, reason in zip(("Why: ", "     "), reasons, strict=False):
        lines.write(reason, start, "     ")
    return lines.all


def record_words(card: Card) -> str:
    """How a card is recorded without being asked."""
    word = {"hand over": "WHY", "repair": "passed", "test": "passed"}.get(card.kind)
    return f'To record it: --found "{card.id}={word or card.answers[0].word}"'


def _cautions(lines: Lines, cautions: Sequence[str]) -> None:
    if not cautions:
        return
    lines.write("CAUTION")
    for caution in cautions:
        lines.write(caution, "! ")
    lines.gap()


def _way(lines: Lines, case: Case, card: Card) -> None:
    if card.kind == "ask":
        return
    steps = way_words(case, card)
    if not steps:
        lines.write(still_words(case.of, card))
        return
    lines.write(f'Bring the machine into the state "{card.state}":')
    for step in steps:
        lines.write(step, "- ")


def _do(lines: Lines, case: Case, card: Card) -> None:
    place = f" Where: {card.place}." if card.place else ""
    lines.write(f"{work_words(case.of, card)}{place}", "DO: ")
    if before_words(case, card):
        lines.write(before_words(case, card))
    if card.kind in ("repair", "test"):
        lines.gap()
        for line in daily_lines(case.of):
            indent = "   " if line.startswith("Must") else ""
            lines.write(line, indent, "   " if indent or line[0].isdigit() else "  ")


def _answers(lines: Lines, card: Card) -> None:
    from tripmargin.faultfinding.suspects.complaints import COMPLAINTS

    if card.kind == "hand over":
        lines.write("1  hand over, and say why")
        return
    lines.write(question_of(card))
    if card.kind == "ask":
        for number, sentence in enumerate(COMPLAINTS.values(), 1):
            lines.write(sentence, f"  {number}  ")
        return
    if card.unit:
        lines.write(reading_words(card))
    for key, answer in keyed(card):
        lines.write(f"{answer}{answer_note(card, answer)}", f"  {key}  ")


def keyed(card: Card) -> Iterator[tuple[str, str]]:
    """Each answer with the key that gives it; a meter's words have none: a reading is typed."""
    from tripmargin.faultfinding import CANNOT_TELL, SAW_ELSE

    letters = {CANNOT_TELL: "c", SAW_ELSE: "e"}
    number = 0
    for answer in card.answers:
        if answer.word in letters:
            yield letters[answer.word], answer.word
        elif not card.unit:
            number += 1
            yield str(number), answer.word
