"""A card on a terminal: price, cautions, the way, what to do, what may be found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from tripmargin.cli.case_screen import Lines, percent

if TYPE_CHECKING:
    from tripmargin.faultfinding import Card, Case, MachineProblem

REASONS = 2
HEARD = {"flicker": ": it comes and goes", "dim": ": it is faint"}
"""What a lamp's words mean for a buzzer."""


def card_lines(case: Case, card: Card, number: int, *, told: bool = False) -> list[str]:
    """A card as text; `told` leaves out the caution that was said at the start of the sitting."""
    from tripmargin.faultfinding.cases.cautions import FIRST

    lines = Lines()
    lines.rule(f"Card {number}")
    head = price_words(case.of, card)
    if head:
        lines.say(head)
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
        lines.say(reason, start, "     ")
    return lines.all


def record_words(card: Card) -> str:
    """How a card is recorded without being asked."""
    word = {"hand over": "WHY", "repair": "passed", "test": "passed"}.get(card.kind)
    return f'To record it: --found "{card.id}={word or card.answers[0].word}"'


def price_words(of: MachineProblem, card: Card) -> str:
    """What a repair is worth and costs, said before anything else; empty for a look."""
    if card.kind != "repair":
        return ""
    whole = "A MODULE, REPLACED WHOLE. " if card.module else ""
    minutes = of.works[card.id].minutes
    price = f"Price of parts: {card.price:g}. " if card.price else "No parts. "
    return f"{whole}Chance that it cures: {percent(card.chance)}. {price}Work: {minutes:.0f} min."


def _cautions(lines: Lines, cautions: Sequence[str]) -> None:
    if not cautions:
        return
    lines.say("CAUTION")
    for caution in cautions:
        lines.say(caution, "! ")
    lines.gap()


def _way(lines: Lines, case: Case, card: Card) -> None:
    if card.kind == "ask":
        return
    steps = way_lines(case, card)
    if not steps:
        still = next(each.way[-1] for each in case.of.states if each.name == card.state)
        lines.say(f"The machine stays as it is. {still}")
        return
    lines.say(f'Bring the machine into the state "{card.state}":')
    for step in steps:
        lines.say(step, "- ")


def way_lines(case: Case, card: Card) -> tuple[str, ...]:
    """How to bring the machine into the card's state, as far as it is not there yet."""
    from tripmargin.faultfinding.cases.ways import way_to

    if card.kind == "ask":
        return ()
    return way_to(case.of, case.situation, card.state)


def whole_way(case: Case, card: Card) -> tuple[str, ...]:
    """How to bring the machine into the card's state from rest: paper does not know where it is."""
    if card.kind == "ask":
        return ()
    return next(state.way for state in case.of.states if state.name == card.state)


def _do(lines: Lines, case: Case, card: Card) -> None:
    place = f" Where: {card.place}." if card.place else ""
    text = case.of.works[card.id].do if card.id in case.of.works else card.do
    lines.say(f"{text}{place}", "DO: ")
    if card.kind in ("repair", "test"):
        lines.gap()
        for line in daily_lines(case.of):
            indent = "   " if line.startswith("Must") else ""
            lines.say(line, indent, "   " if indent or line[0].isdigit() else "  ")


def daily_lines(of: MachineProblem) -> list[str]:
    """The daily test in sentences: its cautions, then what is done and what must show."""
    from tripmargin.faultfinding.cases.cautions import NEVER_LOCKED, RUNNING
    from tripmargin.faultfinding.cases.ways import daily_test

    steps = daily_test(of)
    found = [f'The daily test, "{of.checks.daily}":']
    if any(step.running for step in steps):
        found += [f"! {caution}" for caution in (*RUNNING, NEVER_LOCKED)]
    for number, step in enumerate(steps, 1):
        found.append(f"{number}. {step.do}")
        shows = "; ".join(step.shows) or "nothing lit"
        found.append(f"Must show: {shows}.")
    return found


def _answers(lines: Lines, card: Card) -> None:
    from tripmargin.faultfinding.suspects.complaints import COMPLAINTS

    if card.kind == "hand over":
        lines.say("1  hand over, and say why")
        return
    lines.say(question_of(card))
    if card.kind == "ask":
        for number, sentence in enumerate(COMPLAINTS.values(), 1):
            lines.say(sentence, f"  {number}  ")
        return
    if card.unit:
        lines.say(reading_words(card))
    for key, answer in keyed(card):
        lines.say(f"{answer}{_sound(card, answer)}", f"  {key}  ")


def question_of(card: Card) -> str:
    """What is asked."""
    if card.kind == "ask":
        return "What does the operator say?"
    if card.kind in ("repair", "test"):
        return "What did the daily test show?"
    return "What does the meter show?" if card.unit else "What do you find?"


def reading_words(card: Card) -> str:
    """How to type a meter's reading, and what a sound machine's would be."""
    example = "11.9 or 11.9 V" if card.unit == "V" else "18 ohm, 2.4 kohm, or OL for overload"
    sound = next(answer.word for answer in card.answers if answer.sound)
    return f"Type the reading, such as {example}. On a sound machine: {sound}."


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


def _sound(card: Card, word: str) -> str:
    if card.kind in ("repair", "test"):
        return ": all of it as said above" if word == "passed" else ": anything else"
    sound = any(answer.sound and answer.word == word for answer in card.answers)
    heard = HEARD.get(word, "") if card.do.startswith("Listen") else ""
    return f"{heard}{'   (as on a sound machine)' if sound else ''}"


def short_reasons(card: Card) -> tuple[str, ...]:
    """The reasons that stand nowhere else on the card: not the bars, the minutes, the price."""
    if card.kind == "repair":
        return ()
    elsewhere = ("Likeliest now", "About ", "The daily test passed")
    return tuple(each for each in card.because if not each.startswith(elsewhere))[:REASONS]
