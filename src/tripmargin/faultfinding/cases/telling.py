"""Why this card, what the last finding ruled out, and how a case ended, in plain words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.cases.proving import LEFT_OPEN, doubt, passes_needed
from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.deciding.ranking import NextAction
from tripmargin.faultfinding.deciding.reasons import percent
from tripmargin.faultfinding.suspects.machine_problem import CANNOT_TELL, SAW_ELSE, MachineProblem
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN

NAMED = 3
GONE = 0.001
"""A hypothesis believed less than this is said to be ruled out; it can come back."""
WAS_LIKELY = 0.02


def because(
    of: MachineProblem, situation: Situation, status: str, actions: Sequence[NextAction]
) -> tuple[str, ...]:
    """Reasons for the first of the ranked actions."""
    first = actions[0]
    lines = [_likeliest(of, situation)]
    kind, _, name = first.action.partition(":")
    if status == "proving":
        lines += _proving(of, situation, name)
    elif kind == "repair":
        lines.append(_repair(of, first, name))
    else:
        lines += _splits(of, situation, first)
    if len(actions) > 1 and status != "proving":
        more = actions[1].expected_minutes - first.expected_minutes
        other = (
            f"the next best card would make it {more:.1f} min more"
            if more >= 0.05
            else "by this estimate the next best card is no worse"
        )
        lines.append(
            f"About {first.expected_minutes:.0f} min to protected and proved again; {other}."
        )
    return tuple(lines)


def _likeliest(of: MachineProblem, situation: Situation) -> str:
    belief = of.together(situation.belief)
    named = [
        f"{of.hypotheses[h].said} ({percent(float(belief[h]))})"
        for h in np.argsort(-belief, kind="stable")[:NAMED]
        if belief[h] >= GONE
    ]
    return f"Likeliest now: {'; '.join(named)}."


def _repair(of: MachineProblem, action: NextAction, name: str) -> str:
    work, chance = of.works[name], percent(action.chance_of_cure)
    if name == HAND_OVER:
        return "What was found fits nothing that is listed for this machine."
    if name == PROVE_AGAIN:
        return f"The chance that nothing is wrong is {chance}: the daily test shows it."
    price = f", at a price of {work.price:g}" if work.price else ""
    whole = "It is a module, replaced whole" if work.module else "It takes"
    if work.module:
        return f"{whole}{price}. The chance that it is the cause is {chance}."
    return f"{whole} {work.minutes:.0f} min{price}. The chance that it is the cause is {chance}."


def _splits(of: MachineProblem, situation: Situation, action: NextAction) -> list[str]:
    """What the answers of a look would make of the likeliest hypotheses."""
    found, likeliest = [], set[int]()
    for result in action.results:
        if result.chance < 0.02 or not result.leaves or result.outcome in (CANNOT_TELL, SAW_ELSE):
            continue
        left = of.together(np.array([result.leaves.get(h.id, 0.0) for h in of.hypotheses]))
        best = int(left.argmax())
        likeliest.add(best)
        found.append(
            f'If "{result.outcome}" ({percent(result.chance)}), the likeliest is then'
            f" {of.hypotheses[best].said} ({percent(float(left[best]))})."
        )
    if len(likeliest) == 1:  # it is about the others
        found.append("So this look is to make sure that it is nothing else.")
    return found[: NAMED + 1]


def _proving(of: MachineProblem, situation: Situation, name: str) -> list[str]:
    left = percent_above(doubt(of, situation))
    lines = [
        f"The daily test passed. The chance that a fault is left is {left}; a case is closed at"
        f" {percent(LEFT_OPEN)} or less."
    ]
    belief = situation.belief.copy()
    belief[of.nothing] = 0.0
    shows = of.hypotheses[int(belief.argmax())].shows
    if name == PROVE_AGAIN and shows < 1:
        lines.append(
            f"A fault that comes and goes shows in {percent(shows)} of tests here:"
            f" {passes_needed(shows)} passes in a row would miss it one time in a hundred."
        )
    elif name != PROVE_AGAIN:
        lines.append("The daily test does not show what is still possible; this look does.")
    return lines


def percent_above(left: float) -> str:
    """A chance that must come down to `LEFT_OPEN`, with digits enough to stay above it.

    >>> percent_above(0.0114), percent_above(0.01), percent_above(0.31)
    ('1.1 %', '1 %', '31 %')
    """
    return f"{100 * left:.1f} %" if LEFT_OPEN < left < 0.02 else percent(left)


def ruled_out(of: MachineProblem, before: Situation, after: Situation) -> tuple[str, ...]:
    """Hypotheses that a finding made unlikely, the likeliest before first."""
    was, now = of.together(before.belief), of.together(after.belief)
    return tuple(
        f"{of.hypotheses[h].said}: {percent(float(was[h]))} to {percent(float(now[h]))}"
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
    return tuple("" if look is None else look.question.words[look.answers[k]] for k in likeliest)


def _gone(before: NDArray[np.float64], after: NDArray[np.float64]) -> NDArray[np.intp]:
    """Numbers of the faults that are ruled out, the likeliest before first."""
    gone = (before >= WAS_LIKELY) & (after < before / 5)
    order = np.argsort(-before, kind="stable")
    return order[gone[order]]
