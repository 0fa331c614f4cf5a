"""What is believed, in words: the likeliest faults, what was ruled out and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tripmargin.faultfinding.cases.again import unfit_pairs
from tripmargin.faultfinding.cases.case import Case
from tripmargin.faultfinding.cases.case_lines import Entry
from tripmargin.faultfinding.cases.so_far import Done, found_words
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.faultfinding.suspects.repairs import RepairWork
from tripmargin.faultfinding.wording.card_words import hour_words, parts_words
from tripmargin.ground.languages import later, say, say_many
from tripmargin.ground.languages.own_words import as_written

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
    return [
        (every[h].said, float(belief[h]), repair_words(case.of, every[h].id))
        for h in _likeliest(case, most)
    ]


def _likeliest(case: Case, most: int) -> list[int]:
    """Numbers of the likeliest hypotheses."""
    belief = case.of.together(case.situation.belief)
    order = [int(h) for h in (-belief).argsort(kind="stable")[:most]]
    return [h for h in order if belief[h] >= GONE]


def _works(of: MachineProblem, number: int) -> list[RepairWork]:
    """The repairs that mend something of a hypothesis."""
    causes = {cause.mended for cause in of.hypotheses[number].causes}
    return [work for work in of.repairs if causes & set(work.mended)]


def repair_words(of: MachineProblem, hypothesis: str) -> str:
    """What mends a hypothesis, with minutes and price; empty where nothing listed does."""
    parts = []
    for work in _works(of, of.problem.hypotheses.index(hypothesis)):
        named = {
            "work": work.do.rstrip("."),
            "minutes": work.minutes,
            "price": parts_words(work.price),
        }
        if work.module:
            parts.append(say("{work}: {minutes:.0f} min{price}, replaced whole", **named))
        else:
            parts.append(say("{work}: {minutes:.0f} min{price}", **named))
    joined = parts[0] if parts else ""
    for part in parts[1:]:
        joined = say("{one}; and {other}", one=joined, other=part)
    return joined


def prices_words(case: Case) -> str:
    """What the prices beside the likeliest faults are in; empty where no price stands there."""
    if not any(_priced(case, number) for number in _likeliest(case, LIKELIEST)):
        return ""
    return say("Prices as in the machine's file, {hour}.", hour=hour_words(case.of))


def _priced(case: Case, number: int) -> bool:
    """Whether a part is paid for what mends a hypothesis."""
    return any(work.price for work in _works(case.of, number))


def fits_nothing(case: Case) -> str:
    """What is said where the answers fit nothing that is listed; empty where they do."""
    if case.situation.belief[-1] <= SAID_TO_BE_OTHER:
        return ""
    pairs = unfit_pairs(case)[:PAIRS_NAMED]
    sentences = [
        say("The answers fit nothing that is listed for this machine."),
        *([say("These do not fit together: {pairs}.", pairs=_named(case, pairs))] if pairs else []),
        say(
            "One of them may be wrong: take it back, or look again. Or it is something else: hand"
            " the machine over."
        ),
    ]
    return " ".join(sentences)


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
    return say(
        "These two do not fit together: {pairs}. Nothing listed for this machine shows both: look"
        " again at the one that is less sure, and take it back if it was a slip.",
        pairs=_named(case, pairs),
    )


def _alone(case: Case) -> str:
    """What is said where no two looks are at odds, but the last entry is with all others."""
    moments = case.moments()[-2:]
    if len({len(moment.situation.contradicted) for moment in moments}) == 1:
        return ""
    return say(
        "This does not fit what was found before: nothing listed explains all of it. Take back the"
        " answer that is least sure."
    )


def _named(case: Case, pairs: Sequence[tuple[Entry, Entry]]) -> str:
    """Pairs of looks with what they showed."""
    return "; ".join(
        say("{one}, and {other}", one=_said(case, one), other=_said(case, two))
        for one, two in pairs
    )


def _said(case: Case, entry: Entry) -> str:
    """A look and what it showed."""
    question = case.of.questions[entry["check"]]
    return f"{question.about} [{as_written(question.state)}] {found_words(case.of, entry)}"


def ruled_out_by(done: Done, most: int = NAMED) -> list[tuple[str, list[str]]]:
    """What an entry ruled out or made less likely, by the reason; how many more than a few."""
    return _grouped(done, most, _WHY)


def ruled_out_sentences(done: Done) -> list[str]:
    """What an entry ruled out, a sentence for each reason, to stand behind what was found."""
    return [
        say("{why}: {faults}", why=why, faults="; ".join(texts))
        for why, texts in _grouped(done, NAMED, _WHY_WITHIN)
    ]


def _grouped(done: Done, most: int, words: Mapping[str, str]) -> list[tuple[str, list[str]]]:
    """What an entry ruled out, by the reason in these words."""
    groups: dict[str, list[str]] = {}
    more: dict[str, int] = {}
    told = zip(done.ruled_out, done.left, done.would_show, strict=True)
    for number, (text, left, word) in enumerate(told):
        how = "ruled out" if left < RULED_OUT else "less likely"
        because = ", mended" if done.kind == "repair" else ", shows" if word else ""
        why = say(words[f"{how}{because}"], word=word)
        if number < most:
            groups.setdefault(why, []).append(text)
        else:
            why = why if why in groups else say(words[f"{how}, other"])
            more[why] = more.get(why, 0) + 1
    for why, count in more.items():
        groups.setdefault(why, []).append(say_many("{count} more", "{count} more", count))
    return list(groups.items())


_WHY = {
    "ruled out": later("Ruled out"),
    "ruled out, shows": later('Ruled out, because "{word}" would show'),
    "ruled out, mended": later("Ruled out, because mending it did not help"),
    "ruled out, other": later("Ruled out, for other reasons"),
    "less likely": later("Less likely"),
    "less likely, shows": later('Less likely, because "{word}" would show'),
    "less likely, mended": later("Less likely, because mending it did not help"),
    "less likely, other": later("Less likely, for other reasons"),
}
"""Why a fault is ruled out or only less likely, at the head of a list."""
_WHY_WITHIN = {
    "ruled out": later("ruled out"),
    "ruled out, shows": later('ruled out, because "{word}" would show'),
    "ruled out, mended": later("ruled out, because mending it did not help"),
    "ruled out, other": later("ruled out, for other reasons"),
    "less likely": later("less likely"),
    "less likely, shows": later('less likely, because "{word}" would show'),
    "less likely, mended": later("less likely, because mending it did not help"),
    "less likely, other": later("less likely, for other reasons"),
}
"""The same behind something else."""
