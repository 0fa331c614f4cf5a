"""What is believed, in words: the likeliest faults, what was ruled out and why."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.faultfinding.cases.again import unfit_pairs
from tripmargin.faultfinding.cases.case import Case
from tripmargin.faultfinding.cases.case_lines import Entry
from tripmargin.faultfinding.cases.so_far import Done, found_words
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.faultfinding.wording.card_words import hour_words, parts_words

LIKELIEST, NAMED = 5, 3
WORTH = 0.1
"""What is believed less than this is not worth a word on its repair yet."""
PAIRS_NAMED = 2
TOLD = 0.005
GONE = 0.001
"""What is believed less than this gets no bar."""
RULED_OUT = 0.001
"""Below this a fault is said to be ruled out; above it, only to be less likely."""
SAID_TO_BE_OTHER = 0.5
"""Above this the answers are said to fit nothing that is listed."""


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
        price = parts_words(work.price)
        whole = ", replaced whole" if work.module else ""
        parts.append(f"{work.do.rstrip('.')}: {work.minutes:.0f} min{price}{whole}")
    return "; and ".join(parts)


def prices_words(case: Case) -> str:
    """What the prices beside the likeliest faults are in; empty where no price stands there."""
    if not any("at a price of" in repair for _, _, repair in likeliest(case)):
        return ""
    return f"Prices as in the machine's file, {hour_words(case.of)}."


def fits_nothing(case: Case) -> str:
    """What is said where the answers fit nothing that is listed; empty where they do."""
    if case.situation.belief[-1] <= SAID_TO_BE_OTHER:
        return ""
    pairs = unfit_pairs(case)[:PAIRS_NAMED]
    named = f" These do not fit together: {_named(case, pairs)}." if pairs else ""
    return (
        f"The answers fit nothing that is listed for this machine.{named} One of them may be wrong:"
        " take it back, or look again. Or it is something else: hand the machine over."
    )


def told_nothing(case: Case) -> bool:
    """Whether the last entry left every chance within half a per cent of where it was."""
    before, after = case.moments()[-2:]
    moved = after.situation.belief - before.situation.belief
    return bool(abs(moved).max() < TOLD) and before.status == after.status


def contradiction(case: Case) -> str:
    """What is said where the last entry fits nothing that was found before; else empty."""
    last = case.entries[-1].n if case.entries else 0
    pairs = [pair for pair in unfit_pairs(case) if pair[1].n == last][:PAIRS_NAMED]
    if not pairs:
        return _alone(case)
    return (
        f"These two do not fit together: {_named(case, pairs)}. Nothing listed for this machine"
        " shows both: look again at the one that is less sure, and take it back if it was a slip."
    )


def _alone(case: Case) -> str:
    """What is said where no two looks are at odds, but the last entry is with all others."""
    moments = case.moments()[-2:]
    if len({len(moment.situation.contradicted) for moment in moments}) == 1:
        return ""
    return (
        "This does not fit what was found before: nothing listed explains all of it. Take back the"
        " answer that is least sure."
    )


def _named(case: Case, pairs: Sequence[tuple[Entry, Entry]]) -> str:
    """Pairs of looks with what they showed."""
    return "; ".join(f"{_said(case, one)}, and {_said(case, two)}" for one, two in pairs)


def _said(case: Case, entry: Entry) -> str:
    """A look and what it showed."""
    question = case.of.questions[entry["check"]]
    return f"{question.subject} [{question.state}] {found_words(case.of, entry)}"


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


def ruled_out_sentences(done: Done) -> list[str]:
    """What an entry ruled out, a sentence for each reason."""
    return [f"{why[0].lower()}{why[1:]}: {'; '.join(texts)}" for why, texts in ruled_out_by(done)]
