"""A case as a page tells it: the card in words, what is believed, what was done."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tripmargin.faultfinding import (
    ASK,
    CANNOT_TELL,
    COMPLAINTS,
    HAND_OVER,
    SAW_ELSE,
    Card,
    Case,
    Entry,
)
from tripmargin.faultfinding.cases.cards import FAILED
from tripmargin.faultfinding.cases.cautions import FIRST
from tripmargin.faultfinding.cases.so_far import Done, done_so_far
from tripmargin.faultfinding.cases.ways import TestStep, daily_test
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.faultfinding.wording import card_words as words
from tripmargin.faultfinding.wording.belief_words import (
    contradiction,
    fits_nothing,
    likeliest,
    prices_words,
    ruled_out_by,
    ruled_out_sentences,
    told_nothing,
)
from tripmargin.faultfinding.wording.report_words import clock, complaint, minutes_words, proof
from tripmargin.faultfinding.wording.standing_words import (
    has_ended,
    notice_words,
    outcome,
    status_words,
)
from tripmargin.ground.languages import say
from tripmargin.pictures.belief_bars import Bar, bars_picture, bars_table
from tripmargin.records.keeping.cases import Line, waiting

OTHERS, MOST = 3, 10
UNITS = {"V": ("V", "mV"), "ohm": ("ohm", "kohm", "Mohm")}


@dataclass(frozen=True, slots=True)
class Plate:
    """An answer to hit: what it sends, what it says, what is said behind it."""

    word: str
    says: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class CardShown:
    """A card, ready for a template."""

    card: Card
    do: str
    price: str
    cautions: tuple[str, ...]
    told: bool
    """Whether its reader has just read the cautions: the machine stays in the state that it was in
    for the reader's own last answer."""
    way: tuple[str, ...]
    whole_way: tuple[str, ...]
    still: str
    before: str
    """What the look showed before the last repair; empty where it was not made then."""
    question: str
    plates: tuple[Plate, ...]
    units: tuple[str, ...]
    sound: str
    reasons: tuple[str, ...]
    why: tuple[str, ...]
    daily: tuple[tuple[str, str], ...]
    daily_cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DoneShown:
    """Something that was done, and by whom."""

    n: int
    what: str
    found: str
    who: str
    at: datetime | None
    ruled_out: list[str]


def due_card(case: Case, picked: str, skipped: Sequence[str]) -> tuple[Card | None, bool]:
    """The card to show, and whether all others were skipped; None at the end of a case."""
    cards = case.next_checks(min(len(skipped) + 1, MOST))
    for wanted in (OTHERS, MOST) if picked else ():
        chosen = [card for card in case.next_checks(wanted) if card.id == picked]
        if chosen:
            return chosen[0], False
    left = [card for card in cards if card.id not in skipped]
    first = (left or list(cards))[:1]
    return (first[0] if first else None), bool(cards) and not left


def card_shown(case: Case, card: Card, *, goes_on: bool) -> CardShown:
    """A card in words; `goes_on`: its reader gave the last answer."""
    of, way = case.of, words.way_words(case, card)
    proves = card.kind in ("repair", "test")
    steps = daily_test(of) if proves else ()
    whole = words.whole_way(of, card)
    at_rest = case.situation.state == of.problem.start_state
    return CardShown(
        card=card,
        do=words.work_words(of, card),
        price=words.price_words(of, card),
        cautions=tuple(each for each in card.cautions if each != say(FIRST)),
        told=goes_on and not way,
        way=way,
        whole_way=() if at_rest or way == whole else whole,
        still="" if way or not whole else words.still_words(of, card),
        before=words.before_words(case, card),
        question=words.question_of(card),
        plates=tuple(_plates(card)),
        units=UNITS.get(card.unit, ()),
        sound=words.sound_reading(card) if card.unit else "",
        reasons=words.short_reasons(card),
        why=words.why_words(case, card),
        daily=tuple(_step(step) for step in steps),
        daily_cautions=words.daily_cautions(steps),
    )


def _step(step: TestStep) -> tuple[str, str]:
    return step.do, words.must_show(step)


def _plates(card: Card) -> Iterable[Plate]:
    """The answers to hit; a meter's words have none, for a reading is typed."""
    if card.kind == "ask":
        yield from (Plate(name, say(sentence)) for name, sentence in COMPLAINTS.items())
    elif card.id != HAND_OVER and not card.unit:
        for answer in card.answers:
            if answer.word not in (CANNOT_TELL, SAW_ELSE, FAILED):  # it is asked by its step
                note = words.answer_note(card, answer.word).strip(" :()")
                yield Plate(answer.word, answer.said, note)


def case_words(case: Case, lines: Sequence[Line], *, sun: bool) -> dict[str, Any]:
    """Where a case stands and what was done, for any page about it."""
    done = done_so_far(case)
    by = {line.entry.n: line for line in lines}
    bars = [Bar(*each) for each in likeliest(case)]
    ended = has_ended(case)
    return {
        "outcome": outcome(case),
        "status_words": [] if ended else status_words(case),
        "notices": notice_words(case),
        "ended": ended,
        "bars": bars_picture(bars, sun=sun) if bars and not ended else "",
        "bars_table": bars_table([Bar(*each) for each in likeliest(case, len(case.of.hypotheses))]),
        "fits_nothing": fits_nothing(case),
        "prices": prices_words(case),
        "done": [_done_shown(each, by.get(each.n)) for each in done],
        "change": _change(case, done),
        "waiting": [(entry, by.get(entry.n), said_words(entry)) for entry in waiting(case)],
        "may_redo": case.file.last_undo is not None,
        "report": report(case, done) if ended else [],
    }


def _done_shown(done: Done, line: Line | None) -> DoneShown:
    who, at = (line.who, line.at) if line else ("", None)
    what = done.what.rstrip(".")
    return DoneShown(done.n, what, done.found, who, at, ruled_out_sentences(done))


def _change(case: Case, done: Sequence[Done]) -> dict[str, Any]:
    """What the last answer changed."""
    if not done:
        return {}
    nothing = told_nothing(case)
    return {
        "ruled_out": ruled_out_by(done[-1]),
        "contradiction": contradiction(case),
        "nothing": say("That tells next to nothing new.")
        if nothing and not has_ended(case)
        else "",
    }


def report(case: Case, done: tuple[Done, ...]) -> list[str]:
    """The report at the end, in sentences."""
    begun = say("Begun: {time} UTC.", time=clock(str(case.file.head["begun"])))
    told = say("Complaint: {complaint}", complaint=complaint(done))
    return [told, begun, *proof(case), minutes_words(done)]


def part_replaced(case: Case) -> str:
    """What the repair that cured was, for the log; empty where none did."""
    from tripmargin.faultfinding.cases.cards import PASSED
    from tripmargin.faultfinding.suspects.repairs import PROVE_AGAIN

    cured = [e["repair"] for e in case.entries if e.kind == "repair" and e["word"] == PASSED]
    works = [case.of.works[each] for each in cured if each != PROVE_AGAIN]
    return works[-1].short if works else ""


def said_words(entry: Entry) -> str:
    """What an entry says, in words; also one that is kept aside."""
    check = str(entry.get("of", entry.get("check", entry.get("repair", ""))))
    word = str(entry.get("word", entry.get("why", "")))
    if check == ASK:
        return say(COMPLAINTS.get(word, word))
    return word_said(word)
