"""A case as a page to print: the card in large type, the bars, what was done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tripmargin.cli.case_screen import percent
from tripmargin.cli.case_words import keyed
from tripmargin.cli.output import Picture
from tripmargin.faultfinding.wording.belief_words import likeliest, ruled_out_sentences
from tripmargin.faultfinding.wording.card_words import (
    daily_lines,
    price_words,
    question_of,
    short_reasons,
    sound_reading,
    whole_way,
    work_words,
)
from tripmargin.faultfinding.wording.report_words import clock, complaint, minutes_words, proof
from tripmargin.faultfinding.wording.standing_words import outcome, status_words
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.faultfinding import Card, Case
    from tripmargin.pictures import Section
    from tripmargin.pictures.belief_bars import Bar, CardText


def picture_of(case: Case, card: Card | None) -> Picture:
    """The printable page of a case, with a card; without one at the end of the case."""
    from tripmargin.pictures.belief_bars import Bar, bars_table, case_picture

    bars = [Bar(*each) for each in likeliest(case)]
    name = case.of.machine.name
    text = None if card is None else card_text(case, card)

    def draw(width: float, sun: bool, us: bool) -> str:
        return case_picture(name, _stands(case), bars, text, width=width, sun=sun)

    return Picture(
        say("Finding a fault on {name}", name=name),
        draw,
        lambda _: bars_table(bars),
        page_table=lambda _: _shown(bars),
        sections=lambda _: _sections(case, card),
    )


def card_text(case: Case, card: Card) -> CardText:
    """A card's words, as the page shows them."""
    from tripmargin.faultfinding import COMPLAINTS
    from tripmargin.faultfinding.cases.cautions import FIRST
    from tripmargin.pictures.belief_bars import CardText

    if card.kind == "ask":
        answers = [say(sentence) for sentence in COMPLAINTS.values()]
    else:
        said = {answer.word: answer.said for answer in card.answers}
        answers = [said[word] for _, word in keyed(card)]
        answers = (
            [say("Reading: ............ {unit}", unit=card.unit), *answers]
            if card.unit
            else answers
        )
    place = [say("Where: {place}.", place=card.place)] if card.place else []
    reading = (sound_reading(card),) if card.unit else ()
    return CardText(
        price_words(case.of, card),
        [caution for caution in card.cautions if caution != say(FIRST)],
        whole_way(case.of, card),
        " ".join([work_words(case.of, card), *place]),
        question_of(card) if answers else "",
        answers,
        (*reading, *short_reasons(card)),
    )


def _stands(case: Case) -> list[str]:
    words = status_words(case)
    return [outcome(case), *([" ".join(words)] if words else [])]


def _shown(bars: list[Bar]) -> tuple[tuple[str, ...], list[tuple[str, str, str]]]:
    rows = [(bar.text, percent(bar.chance), bar.repair) for bar in bars]
    return (say("what it may be"), say("chance"), say("its repair")), rows


def _sections(case: Case, card: Card | None) -> tuple[Section, ...]:
    from tripmargin.faultfinding.cases.so_far import done_so_far
    from tripmargin.pictures import Section

    done = done_so_far(case)
    rows = [
        (each.at[11:16], f"{each.what}: {each.found}", "; ".join(ruled_out_sentences(each)))
        for each in done
    ]
    found = [
        Section(
            say("What was done"),
            [
                say("Complaint: {complaint}", complaint=complaint(done)),
                say("Begun: {time}.", time=clock(str(case.file.head["begun"]))),
                minutes_words(done),
            ],
            ((say("time"), say("what was found"), say("what that rules out")), rows),
        ),
        Section(say("Proof"), proof(case)),
    ]
    if card is not None and card.kind in ("repair", "test"):
        title, *lines = daily_lines(case.of)
        found.insert(0, Section(title.rstrip(":"), [line.lstrip("! ") for line in lines]))
    return tuple(found)
