"""What is believed, on a terminal: bars, what was ruled out and why, the other cards."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tripmargin.cli.case_screen import Lines, percent
from tripmargin.faultfinding.wording.belief_words import (
    WORTH,
    contradiction,
    fits_nothing,
    likeliest,
    prices_words,
    ruled_out_by,
)
from tripmargin.faultfinding.wording.card_words import other_words, why_words
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.faultfinding import Card, Case


def belief_lines(case: Case) -> list[str]:
    """The likeliest faults as bars, and what the repair of each takes."""
    lines = Lines()
    bars = likeliest(case)
    wide = 20 if lines.width >= 70 else 10
    if not bars:
        return []
    lines.write(say("What it may be:"))
    for text, chance, _ in bars:
        filled = max(round(chance * wide), 1 if chance >= 0.02 else 0)
        bar = ("#" * filled).ljust(wide, ".")
        lines.write(text, f"  {bar} {percent(chance):>5}  ", " " * (wide + 10))
    repairs = dict.fromkeys(repair for _, chance, repair in bars if repair and chance >= WORTH)
    if repairs:
        lines.write(say("What a repair takes:"))
    for repair in repairs:
        lines.write(repair, "  - ")
    if repairs and prices_words(case):
        lines.write(prices_words(case), "  ")
    if fits_nothing(case):
        lines.write(fits_nothing(case))
    return lines.all


def change_lines(case: Case) -> list[str]:
    """What the last entry ruled out, and why."""
    from tripmargin.faultfinding.cases.so_far import done_so_far

    done = done_so_far(case)
    if not done:
        return []
    lines = Lines()
    for why, texts in ruled_out_by(done[-1]):
        lines.write(f"{why}:")
        for text in texts:
            lines.write(text, "  - ")
    if contradiction(case):
        lines.write(contradiction(case))
    return lines.all


def why_lines(case: Case, card: Card) -> list[str]:
    """Everything that is believed, and all reasons for a card."""
    lines, every = Lines(), likeliest(case, len(case.of.hypotheses))
    lines.rule(say("Everything that it may be"))
    for text, chance, _ in every:
        lines.write(text, f"  {percent(chance):>6}  ")
    rest = 1.0 - sum(chance for _, chance, _ in every)
    if rest > 1e-6:
        lines.write(say("all that is less likely than these, together"), f"  {percent(rest):>6}  ")
    lines.rule(say("Why this card"))
    for reason in why_words(case, card):
        lines.write(reason, "- ")
    return lines.all


def other_lines(cards: Sequence[Card]) -> list[str]:
    """The best few cards, one line each."""
    lines = Lines()
    lines.rule(say("Other cards"))
    for number, card in enumerate(cards, 1):
        lines.write(other_words(card), f"  {number}  ")
    return lines.all
