"""A card on a terminal: price, cautions, the way, what to do, what may be found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from tripmargin.cli.case_screen import Lines
from tripmargin.faultfinding.wording.card_words import (
    answer_note,
    before_words,
    daily_lines,
    price_words,
    question_of,
    reading_words,
    says_what_shows,
    short_reasons,
    still_words,
    way_words,
    work_words,
)
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written

if TYPE_CHECKING:
    from tripmargin.faultfinding import Card, Case


def card_lines(case: Case, card: Card, number: int, *, told: bool = False) -> list[str]:
    """A card as text; `told` leaves out the caution that was said at the start of the sitting."""
    from tripmargin.faultfinding.cases.cautions import FIRST

    lines = Lines()
    lines.rule(say("Card {number}", number=number))
    head = price_words(case.of, card)
    if head:
        lines.write(head)
        lines.gap()
    _cautions(lines, [each for each in card.cautions if not (told and each == say(FIRST))])
    _way(lines, case, card)
    _do(lines, case, card)
    lines.gap()
    _answers(lines, card)
    reasons = short_reasons(card)
    if reasons:
        lines.gap()
    for start, reason in zip((f"{say('Why:')} ", "     "), reasons, strict=False):
        lines.write(reason, start, "     ")
    return lines.all


def record_words(card: Card) -> str:
    """How a card is recorded without being asked."""
    word = {"hand over": "WHY", "repair": "passed", "test": "passed"}.get(card.kind)
    return say('To record it: --found "{id}={word}"', id=card.id, word=word or card.answers[0].word)


def _cautions(lines: Lines, cautions: Sequence[str]) -> None:
    if not cautions:
        return
    lines.write(say("CAUTION"))
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
    lines.write(say('Bring the machine into the state "{state}":', state=as_written(card.state)))
    for step in steps:
        lines.write(step, "- ")


def _do(lines: Lines, case: Case, card: Card) -> None:
    place = [say("Where: {place}.", place=card.place)] if card.place else []
    lines.write(" ".join([work_words(case.of, card), *place]), say("DO:") + " ")
    if before_words(case, card):
        lines.write(before_words(case, card))
    if card.kind in ("repair", "test"):
        lines.gap()
        daily = daily_lines(case.of)
        for number, line in enumerate(daily):
            indent = "   " if says_what_shows(daily, number) else ""
            lines.write(line, indent, "   " if indent or line[0].isdigit() else "  ")


def _answers(lines: Lines, card: Card) -> None:
    from tripmargin.faultfinding.suspects.complaints import COMPLAINTS

    if card.kind == "hand over":
        lines.write(say("hand over, and say why"), "1  ")
        return
    lines.write(question_of(card))
    if card.kind == "ask":
        for number, sentence in enumerate(COMPLAINTS.values(), 1):
            lines.write(say(sentence), f"  {number}  ")
        return
    if card.unit:
        lines.write(reading_words(card))
    said = {answer.word: answer.said for answer in card.answers}
    for key, answer in keyed(card):
        lines.write(f"{said[answer]}{answer_note(card, answer)}", f"  {key}  ")


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


def taken_back_words(entry: Any) -> str:
    """Which entry no longer counts, by its id in the reader's words."""
    from tripmargin.faultfinding import ASK
    from tripmargin.faultfinding.suspects.found_words import word_said
    from tripmargin.pictures.trade_words import complaint_words, look_words

    what = entry.get("check") or entry.get("repair") or entry.kind
    found = entry.get("word") or entry.get("why")
    if what == ASK:
        said, found = say("complaint"), complaint_words(found)
    else:
        said, found = look_words(what), word_said(found)
    return say("Taken back: {check}: {found}.", check=said, found=found)
