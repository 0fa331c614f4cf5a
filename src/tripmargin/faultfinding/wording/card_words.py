"""A card in words: what it is worth, how to get there, what to do, what may be found."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.faultfinding.cases.again import shown_before
from tripmargin.faultfinding.cases.cards import PASSED, Card
from tripmargin.faultfinding.cases.case import Case
from tripmargin.faultfinding.cases.cautions import NEVER_LOCKED, RUNNING, TWO_RUNNING, said
from tripmargin.faultfinding.cases.so_far import found_words
from tripmargin.faultfinding.cases.ways import TestStep, daily_test, way_to
from tripmargin.faultfinding.deciding.reasons import percent
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written

REASONS = 2


def price_words(of: MachineProblem, card: Card) -> str:
    """What a repair is worth and costs, said before anything else; empty for a look."""
    if card.kind != "repair":
        return ""
    price = say("No parts.")
    if card.price:
        hour = hour_words(of)
        price = say("Price of parts: {price:g}, {hour}.", price=card.price, hour=hour)
    sentences = [
        *([say("A MODULE, REPLACED WHOLE.")] if card.module else []),
        say("Chance that it cures: {chance}.", chance=percent(card.chance)),
        price,
        say("Work: {minutes:.0f} min.", minutes=of.works[card.id].minutes),
    ]
    return " ".join(sentences)


def hour_words(of: MachineProblem) -> str:
    """What a price is in: the currency of the machine's file, known by what an hour costs there."""
    return say(
        "where an hour of machine and person costs {price:g}",
        price=of.checks.price_of_an_hour.nominal,
    )


def parts_words(price: float) -> str:
    """The price of parts, behind something else; empty where there are none."""
    return say(", parts at a price of {price:g}", price=price) if price else ""


def way_words(case: Case, card: Card) -> tuple[str, ...]:
    """How to bring the machine into the card's state, as far as it is not there yet."""
    return () if card.kind == "ask" else way_to(case.of, case.situation, card.state)


def whole_way(of: MachineProblem, card: Card) -> tuple[str, ...]:
    """How to bring the machine into the card's state from rest, for it may stand anyhow."""
    if card.kind == "ask":
        return ()
    return next(state.way for state in of.states if state.name == card.state)


def still_words(of: MachineProblem, card: Card) -> str:
    """What is said where the machine is in the card's state already."""
    return say("The machine stays as it is. {state}", state=whole_way(of, card)[-1])


def work_words(of: MachineProblem, card: Card) -> str:
    """What to do; of a repair the work alone, for the daily test is said step by step."""
    return of.works[card.id].do if card.id in of.works else card.do


def daily_cautions(steps: Sequence[TestStep]) -> tuple[str, ...]:
    """What is said before the daily test."""
    runs = any(step.running for step in steps)
    return said((*RUNNING, TWO_RUNNING, NEVER_LOCKED)) if runs else ()


def must_show(step: TestStep) -> str:
    """What a step of the daily test must show."""
    if not step.shows:
        return say("Must show: nothing lit.")
    return say("Must show: {signs}.", signs="; ".join(step.shows))


def daily_lines(of: MachineProblem) -> list[str]:
    """The daily test in sentences: its cautions, then what is done and what must show."""
    steps = daily_test(of)
    found = [say('The daily test, "{path}":', path=as_written(of.checks.daily))]
    found += [f"! {caution}" for caution in daily_cautions(steps)]
    for number, step in enumerate(steps, 1):
        found += [f"{number}. {step.do}", must_show(step)]
    return found


def says_what_shows(lines: Sequence[str], number: int) -> bool:
    """Whether a line of `daily_lines`, by its number from 0, says what a step must show.

    Cautions are marked, what is done is numbered, and the first line is a heading.
    """
    return number > 0 and not lines[number].startswith("!") and not lines[number][0].isdigit()


def question_of(card: Card) -> str:
    """What is asked."""
    if card.kind == "ask":
        return say("What does the operator say?")
    if card.kind in ("repair", "test"):
        return say("What did the daily test show?")
    return say("What does the meter show?") if card.unit else say("What do you find?")


def reading_words(card: Card) -> str:
    """How to type a meter's reading, and what a sound machine's would be."""
    if card.unit == "V":
        how = say("Type the reading, such as 11.9 or 11.9 V.")
    else:
        how = say("Type the reading, such as 18 ohm, 2.4 kohm, or OL for overload.")
    return f"{how} {sound_reading(card)}"


def sound_reading(card: Card) -> str:
    """What a meter would read on a sound machine."""
    sound = next(answer for answer in card.answers if answer.sound)
    return say("On a sound machine: {reading}.", reading=sound.said or sound.word)


def answer_note(card: Card, word: str) -> str:
    """What is said behind an answer: whether a sound machine gives it."""
    if card.kind in ("repair", "test"):
        return say(": all of it as said above") if word == PASSED else say(": anything else")
    sound = any(answer.sound and answer.word == word for answer in card.answers)
    return "   " + say("(as on a sound machine)") if sound else ""


def before_words(case: Case, card: Card) -> str:
    """What a look showed before something was mended; empty where it was not made then."""
    before = shown_before(case, card.id)
    if before is None:
        return ""
    return say(
        "Before the last repair it showed: {found}. Look anew.", found=found_words(case.of, before)
    )


def short_reasons(card: Card) -> tuple[str, ...]:
    """The reasons that stand nowhere else on the card: not the bars, the minutes, the price."""
    return () if card.kind == "repair" else card.short[:REASONS]


def why_words(case: Case, card: Card) -> tuple[str, ...]:
    """All reasons for a card; of one that was picked, what it makes the case longer."""
    best = case.next_checks(2)[0]  # of two: how much dearer the second would be
    return best.because if best.id == card.id else (_dearer(best, card),)


def _dearer(best: Card, card: Card) -> str:
    more = max(card.expected_minutes - best.expected_minutes, 0.0)
    return say(
        "You chose it. It makes the case about {more:.1f} min longer than the best card would.",
        more=more,
    )


def other_words(card: Card) -> str:
    """A card in one line."""
    return say(
        "{do} [{state}; {minutes:.1f} min{parts}]",
        do=card.do,
        state=as_written(card.state),
        minutes=card.minutes,
        parts=parts_words(card.price),
    )
