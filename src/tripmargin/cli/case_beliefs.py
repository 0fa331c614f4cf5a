"""What is believed, on a terminal: bars, what was ruled out and why, the other cards."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tripmargin.cli.case_screen import Lines, percent

if TYPE_CHECKING:
    from tripmargin.faultfinding import Card, Case, MachineProblem
    from tripmargin.faultfinding.cases.so_far import Done

LIKELIEST, NAMED = 5, 3
WORTH = 0.1
"""What is believed less than this is not worth a word on its repair yet."""
TOLD = 0.005
GONE = 0.001
"""What is believed less than this gets no bar."""
RULED_OUT = 0.002
"""Below this a fault is said to be ruled out; above it, only to be less likely."""
SAID_TO_BE_OTHER = 0.5
"""Above this the answers are said to fit nothing that is listed."""


def belief_lines(case: Case) -> list[str]:
    """The likeliest faults as bars, and what the repair of each takes."""
    lines = Lines()
    bars = likeliest(case)
    wide = 20 if lines.width >= 70 else 10
    if not bars:
        return []
    lines.say("What it may be:")
    for text, chance, _ in bars:
        filled = max(round(chance * wide), 1 if chance >= 0.02 else 0)
        bar = ("#" * filled).ljust(wide, ".")
        lines.say(text, f"  {bar} {percent(chance):>5}  ", " " * (wide + 10))
    repairs = dict.fromkeys(repair for _, chance, repair in bars if repair and chance >= WORTH)
    if repairs:
        lines.say("What a repair takes:")
    for repair in repairs:
        lines.say(repair, "  - ")
    if case.situation.belief[-1] > SAID_TO_BE_OTHER:
        lines.say(
            "The answers fit nothing that is listed for this machine. One of them may be wrong:"
            " take it back, or look again. Or it is something else: hand the machine over."
        )
    return lines.all


def likeliest(case: Case, most: int = LIKELIEST) -> list[tuple[str, float, str]]:
    """The likeliest faults, each at all its strengths: words, chance, what their repair takes."""
    every = case.of.hypotheses
    belief = case.of.together(case.situation.belief)
    order = [int(h) for h in (-belief).argsort(kind="stable")[:most]]
    return [
        (every[h].said, float(belief[h]), repair_words(case.of, every[h].id))
        for h in order
        if belief[h] >= GONE
    ]


def repair_words(of: MachineProblem, hypothesis: str) -> str:
    """What mends a hypothesis, with minutes and price; empty where nothing listed does."""
    number = of.problem.hypotheses.index(hypothesis)
    causes = {cause.mended for cause in of.hypotheses[number].causes}
    works = [work for work in of.repairs if causes & set(work.mended)]
    parts = []
    for work in works:
        price = f", parts {work.price:g}" if work.price else ""
        whole = ", replaced whole" if work.module else ""
        parts.append(f"{work.do.rstrip('.')}: {work.minutes:.0f} min{price}{whole}")
    return "; and ".join(parts)


def told_nothing(case: Case) -> bool:
    """Whether the last entry left every chance within half a per cent of where it was."""
    before, after = case.moments()[-2:]
    moved = after.situation.belief - before.situation.belief
    return bool(abs(moved).max() < TOLD) and before.status == after.status


def change_lines(case: Case) -> list[str]:
    """What the last entry ruled out, and why."""
    from tripmargin.faultfinding.cases.so_far import done_so_far

    done, moments = done_so_far(case), case.moments()
    if not done:
        return []
    lines = Lines()
    for why, texts in ruled_out_by(done[-1]):
        lines.say(f"{why}:")
        for text in texts:
            lines.say(text, "  - ")
    before, after = moments[-2:]
    if len(after.situation.contradicted) > len(before.situation.contradicted):
        lines.say(
            "This does not fit what was found before: nothing listed explains both. Take back the"
            " answer that is least sure."
        )
    return lines.all


def ruled_out_by(done: Done, most: int = NAMED) -> list[tuple[str, list[str]]]:
    """What an entry ruled out or made less likely, by the reason; how many more than a few."""
    groups: dict[str, list[str]] = {}
    more: dict[str, int] = {}
    told = zip(done.ruled_out, done.left, done.would_show, strict=True)
    for number, (text, left, word) in enumerate(told):
        said = "Ruled out" if left < RULED_OUT else "Less likely"
        why = f'{said}, because "{word}" would show' if word else said
        if done.kind == "repair":
            why = f"{said}, because mending it did not help"
        if number < most:
            groups.setdefault(why, []).append(text)
        else:
            why = why if why in groups else f"{said}, for other reasons"
            more[why] = more.get(why, 0) + 1
    for why, count in more.items():
        groups.setdefault(why, []).append(f"{count} more")
    return list(groups.items())


def why_lines(case: Case, card: Card) -> list[str]:
    """Everything that is believed, and all reasons for a card."""
    lines, every = Lines(), likeliest(case, len(case.of.hypotheses))
    lines.rule("Everything that it may be")
    for text, chance, _ in every:
        lines.say(text, f"  {percent(chance):>6}  ")
    rest = 1.0 - sum(chance for _, chance, _ in every)
    if rest > 1e-6:
        lines.say("all that is less likely than these, together", f"  {percent(rest):>6}  ")
    lines.rule("Why this card")
    best = case.next_checks(2)[0]  # of two: how much dearer the second would be
    for reason in best.because if best.id == card.id else (_dearer(best, card),):
        lines.say(reason, "- ")
    return lines.all


def _dearer(best: Card, card: Card) -> str:
    more = max(card.expected_minutes - best.expected_minutes, 0.0)
    return f"You chose it. It makes the case about {more:.1f} min longer than the best card would."


def other_lines(cards: Sequence[Card]) -> list[str]:
    """The best few cards, one line each."""
    lines = Lines()
    lines.rule("Other cards")
    for number, card in enumerate(cards, 1):
        price = f", parts {card.price:g}" if card.price else ""
        lines.say(f"{card.do} [{card.state}; {card.minutes:.1f} min{price}]", f"  {number}  ")
    return lines.all
