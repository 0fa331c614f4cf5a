"""Why this action next, in plain words: chances before and after, minutes, the next best."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.deciding.problem import Problem
from tripmargin.faultfinding.deciding.ranking import NextAction, Result, beliefs_by_name

NAMED = 3
"""Hypotheses named in a sentence; the rest is counted."""
LIKELY = 0.005
"""Hypotheses less likely than this before a finding are not said to be ruled out by it."""
FOUND_BY = {
    "exact": "Exact: every order of useful actions was compared.",
    "look-ahead": "Found by looking ahead at the best few actions, not by comparing every order.",
    "index": "Chosen by one index, without looking ahead.",
}


@dataclass(frozen=True, slots=True)
class Explanation:
    """Why an action is proposed, and what the last finding changed; `str()` gives the sentences."""

    action: str
    reasons: tuple[str, ...]
    last: tuple[str, ...]
    """What the last finding or failed repair changed; empty at the start."""
    before: dict[str, float]
    """Beliefs now, the likeliest first."""
    after: dict[str, dict[str, float]]
    """Beliefs after each outcome."""
    contradicted: tuple[str, ...]
    """Findings that only 'something else' explains."""

    def __str__(self) -> str:
        return "\n".join((*self.last, *self.reasons))

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: chances from 0 to 1."""
        return asdict(self)


def explained(
    problem: Problem,
    situations: tuple[Situation | None, Situation],
    actions: tuple[NextAction, ...],
    last: tuple[str, str] | None,
) -> Explanation:
    """Put the reasons for the first of the ranked actions into words.

    Parameters
    ----------
    problem : Problem
    situations : (Situation or None, Situation)
        Before the last entry of the history, None at the start, and now.
    actions : tuple of NextAction
        The proposed one first.
    last : (str, str) or None
        Last entry of the history.
    """
    earlier, now = situations
    first, before = actions[0], beliefs_by_name(problem, now.belief)
    sentences = [_doing(problem, first)]
    sentences += [_foreseen(result, before) for result in first.results]
    sentences += [_cost(first, actions[1] if len(actions) > 1 else None), FOUND_BY[first.found_by]]
    told = []
    if earlier is not None and last is not None:
        told.append(_told(last, beliefs_by_name(problem, earlier.belief), before))
    if now.contradicted:
        findings = ", ".join(now.contradicted)
        told.append(
            f"Nothing listed explains {findings}: the findings contradict each other, so only"
            " 'something else' is left. Look again at the finding that is least sure."
        )
    after = {result.outcome: result.leaves for result in first.results}
    return Explanation(first.action, tuple(sentences), tuple(told), before, after, now.contradicted)


def _doing(problem: Problem, action: NextAction) -> str:
    number = problem.numbers[action.action]
    if number < len(problem.checks):
        return f"Next: {action.action}, in state {action.state}; {action.minutes:.1f} min in all."
    repair = problem.repairs[number - len(problem.checks)]
    price = f", parts at {repair.price:g} among them" if repair.price else ""
    return (
        f"Next: {action.action}, which cures {_listed(repair.cures)} and helps with a chance of"
        f" {percent(action.chance_of_cure)}; {action.minutes:.1f} min in all{price},"
        " verification included."
    )


def _foreseen(result: Result, before: dict[str, float]) -> str:
    if not result.leaves:
        return f"If it has {result.outcome} ({percent(result.chance)}): done and proved."
    return f"If '{result.outcome}' ({percent(result.chance)}): {_shift(before, result.leaves)}."


def _told(last: tuple[str, str], before: dict[str, float], now: dict[str, float]) -> str:
    return f"{last[0]} = '{last[1]}': {_shift(before, now)}."


def _shift(before: dict[str, float], after: dict[str, float]) -> str:
    """Beliefs before and after, and what was ruled out.

    >>> _shift({"A": 0.5, "B": 0.3, "C": 0.2}, {"B": 0.6, "C": 0.4})
    'B 30 % to 60 %, C 20 % to 40 %; ruled out: A'
    """
    names = before.keys() | after.keys()
    if all(abs(after.get(name, 0.0) - before.get(name, 0.0)) < LIKELY for name in names):
        return "tells next to nothing"
    named = list(after)[:NAMED]
    moves = [f"{name} {percent(before.get(name, 0.0))} to {percent(after[name])}" for name in named]
    rest = sum(after[name] for name in list(after)[NAMED:])
    if rest >= LIKELY:
        moves.append(f"all others {percent(rest)}")
    gone = [name for name, chance in before.items() if chance >= LIKELY and name not in after]
    text = ", ".join(moves)
    return f"{text}; ruled out: {_listed(gone)}" if gone else text


def _cost(first: NextAction, second: NextAction | None) -> str:
    text = (
        f"To protected and proved: {first.expected_minutes:.1f} min expected,"
        f" {max(first.avoidable_minutes, 0.0):.1f} of them for not knowing the fault"
    )
    if second is None:
        return f"{text}; nothing else is worth doing now."
    more = second.expected_minutes - first.expected_minutes
    return f"{text}; next best is {second.action}, {max(more, 0.0):.1f} min dearer."


def _listed(names: tuple[str, ...] | list[str]) -> str:
    """Names in a row, the many counted.

    >>> _listed(["A", "B"]), _listed(["A", "B", "C", "D", "E"])
    ('A and B', 'A, B, C and 2 more')
    """
    if len(names) > NAMED + 1:
        return f"{', '.join(names[:NAMED])} and {len(names) - NAMED} more"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def percent(chance: float) -> str:
    """A chance as people read it; never 0 or 100 % unless it is.

    >>> percent(0.314), percent(0.0004), percent(0.9999), percent(1.0), percent(0.004)
    ('31 %', 'under 0.1 %', 'over 99.9 %', '100 %', '0.4 %')
    """
    if 0 < chance < 0.001:
        return "under 0.1 %"
    if 0.999 < chance < 1 - 1e-12:
        return "over 99.9 %"
    return f"{np.round(100 * chance, 1 if chance < 0.01 or 0.99 < chance < 0.999 else 0):g} %"
