"""Why this card, what the last finding ruled out, and how a case ended, in plain words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.cases.proving import LEFT_OPEN, doubt, passes_needed
from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.deciding.ranking import NextAction
from tripmargin.faultfinding.deciding.reasons import percent
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.machine_problem import (
    ASK,
    CANNOT_TELL,
    SAW_ELSE,
    MachineProblem,
)
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN
from tripmargin.ground.languages import say

NAMED = 3
GONE = 0.001
"""A hypothesis believed less than this is said to be ruled out; it can come back."""
WAS_LIKELY = 0.02


def because(
    of: MachineProblem, situation: Situation, status: str, actions: Sequence[NextAction]
) -> tuple[str, ...]:
    """Reasons for the first of the ranked actions."""
    first = actions[0]
    kind, _, name = first.action.partition(":")
    likeliest = _likeliest(of, situation)
    if status == "proving":
        return (likeliest, _passed(of, situation), *shortly(of, situation, status, first))
    lines = [likeliest]
    lines += [_repair(of, first, name)] if kind == "repair" else _splits(of, situation, first)
    if len(actions) > 1:
        more = actions[1].expected_minutes - first.expected_minutes
        lines.append(_minutes_left(first.expected_minutes, more))
    return tuple(lines)


def shortly(
    of: MachineProblem, situation: Situation, status: str, action: NextAction
) -> tuple[str, ...]:
    """Those of the reasons that stand nowhere else on a card: not its bars, minutes or price."""
    kind, _, name = action.action.partition(":")
    if status == "proving":
        return tuple(_proving(of, situation, name))
    return () if kind == "repair" else tuple(_splits(of, situation, action))


def _minutes_left(minutes: float, more: float) -> str:
    """How long it is till the end, and how much longer by the next best card."""
    if more < 0.05:
        return say(
            "About {minutes:.0f} min to protected and proved again; by this estimate the next best"
            " card is no worse.",
            minutes=minutes,
        )
    return say(
        "About {minutes:.0f} min to protected and proved again; the next best card would make it"
        " {more:.1f} min more.",
        minutes=minutes,
        more=more,
    )


def _word_said(of: MachineProblem, check: str, word: str) -> str:
    """What may come of a look, in the reader's words."""
    if check == ASK:
        return say(COMPLAINTS.get(word, word))
    return of.questions[check].said(word)


def _likeliest(of: MachineProblem, situation: Situation) -> str:
    belief = of.together(situation.belief)
    named = [
        f"{of.hypotheses[h].said} ({percent(float(belief[h]))})"
        for h in np.argsort(-belief, kind="stable")[:NAMED]
        if belief[h] >= GONE
    ]
    return say("Likeliest now: {faults}.", faults="; ".join(named))


def _repair(of: MachineProblem, action: NextAction, name: str) -> str:
    work, chance = of.works[name], percent(action.chance_of_cure)
    if name == HAND_OVER:
        return say("What was found fits nothing that is listed for this machine.")
    if name == PROVE_AGAIN:
        return say(
            "The chance that nothing is wrong is {chance}: the daily test shows it.", chance=chance
        )
    if work.module and work.price:
        takes = say("It is a module, replaced whole, at a price of {price:g}.", price=work.price)
    elif work.module:
        takes = say("It is a module, replaced whole.")
    elif work.price:
        takes = say(
            "It takes {minutes:.0f} min, at a price of {price:g}.",
            minutes=work.minutes,
            price=work.price,
        )
    else:
        takes = say("It takes {minutes:.0f} min.", minutes=work.minutes)
    return " ".join([takes, say("The chance that it is the cause is {chance}.", chance=chance)])


def _splits(of: MachineProblem, situation: Situation, action: NextAction) -> list[str]:
    """What the answers of a look would make of the likeliest hypotheses."""
    found, likeliest = [], set[int]()
    name = action.action.partition(":")[2]
    for result in action.results:
        if result.chance < 0.02 or not result.leaves or result.outcome in (CANNOT_TELL, SAW_ELSE):
            continue
        left = of.together(np.array([result.leaves.get(h.id, 0.0) for h in of.hypotheses]))
        best = int(left.argmax())
        likeliest.add(best)
        found.append(
            say(
                'If "{word}" ({chance}), the likeliest is then {fault} ({then}).',
                word=_word_said(of, name, result.outcome),
                chance=percent(result.chance),
                fault=of.hypotheses[best].said,
                then=percent(float(left[best])),
            )
        )
    if len(likeliest) == 1:  # it is about the others
        found.append(say("So this look is to make sure that it is nothing else."))
    return found[: NAMED + 1]


def _passed(of: MachineProblem, situation: Situation) -> str:
    """What a daily test that passed leaves open."""
    return say(
        "The daily test passed. The chance that a fault is left is {left}; a case is closed at"
        " {limit} or less.",
        left=percent_above(doubt(of, situation)),
        limit=percent(LEFT_OPEN),
    )


def _proving(of: MachineProblem, situation: Situation, name: str) -> list[str]:
    lines = []
    belief = situation.belief.copy()
    belief[of.nothing] = 0.0
    shows = of.hypotheses[int(belief.argmax())].shows
    if name == PROVE_AGAIN and shows < 1:
        lines.append(
            say(
                "A fault that comes and goes shows in {share} of tests here: {passes} passes in a"
                " row would miss it one time in a hundred.",
                share=percent(shows),
                passes=passes_needed(shows),
            )
        )
    elif name != PROVE_AGAIN:
        lines.append(say("The daily test does not show what is still possible; this look does."))
    return lines


def percent_above(left: float) -> str:
    """A chance that must come down to `LEFT_OPEN`, with digits enough to stay above it.

    >>> percent_above(0.0114), percent_above(0.01), percent_above(0.31)
    ('1.1 %', '1 %', '31 %')
    """
    if LEFT_OPEN < left < 0.02:
        return say("{percent:.1f} %", percent=100 * left)
    return percent(left)


def ruled_out(of: MachineProblem, before: Situation, after: Situation) -> tuple[str, ...]:
    """Hypotheses that a finding made unlikely, the likeliest before first."""
    was, now = of.together(before.belief), of.together(after.belief)
    return tuple(
        say(
            "{fault}: {before} to {after}",
            fault=of.hypotheses[h].said,
            before=percent(float(was[h])),
            after=percent(float(now[h])),
        )
        for h in _gone(was, now)
    )


def still_left(of: MachineProblem, before: Situation, after: Situation) -> tuple[float, ...]:
    """What is still believed of each of `ruled_out`."""
    was, now = of.together(before.belief), of.together(after.belief)
    return tuple(float(now[h]) for h in _gone(was, now))


def would_show(
    of: MachineProblem, before: Situation, after: Situation, check: str
) -> tuple[str, ...]:
    """What each of `ruled_out` would have shown in a look; empty texts where it was no look."""
    look = next((each for each in of.looks if each.question.id == check), None)
    was, now = of.together(before.belief), of.together(after.belief)
    likeliest = [
        max(np.flatnonzero(of.family == h), key=lambda k: before.belief[k]) for h in _gone(was, now)
    ]
    if look is None:
        return ("",) * len(likeliest)
    question = look.question
    return tuple(question.said(question.words[look.answers[k]]) for k in likeliest)


def _gone(before: NDArray[np.float64], after: NDArray[np.float64]) -> NDArray[np.intp]:
    """Numbers of the faults that are ruled out, the likeliest before first."""
    gone = (before >= WAS_LIKELY) & (after < before / 5)
    order = np.argsort(-before, kind="stable")
    return order[gone[order]]
