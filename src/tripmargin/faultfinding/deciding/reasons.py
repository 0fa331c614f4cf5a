"""Why this action next, in plain words: chances before and after, minutes, the next best."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.deciding.problem import Problem
from tripmargin.faultfinding.deciding.ranking import NextAction, Result, beliefs_by_name
from tripmargin.ground.languages import later, say, say_many
from tripmargin.ground.languages.lists import listed

NAMED = 3
"""Hypotheses named in a sentence; the rest is counted."""
LIKELY = 0.005
"""Hypotheses less likely than this before a finding are not said to be ruled out by it."""
FOUND_BY = {
    "exact": later("Exact: every order of useful actions was compared."),
    "look-ahead": later(
        "Found by looking ahead at the best few actions, not by comparing every order."
    ),
    "index": later("Chosen by one index, without looking ahead."),
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
    sentences.append(_cost(first, actions[1] if len(actions) > 1 else None))
    sentences.append(say(FOUND_BY[first.found_by]))
    told = []
    if earlier is not None and last is not None:
        told.append(_told(last, beliefs_by_name(problem, earlier.belief), before))
    if now.contradicted:
        findings = ", ".join(now.contradicted)
        told.append(
            say(
                "Nothing listed explains {findings}: the findings contradict each other, so only"
                " 'something else' is left. Look again at the finding that is least sure.",
                findings=findings,
            )
        )
    after = {result.outcome: result.leaves for result in first.results}
    return Explanation(first.action, tuple(sentences), tuple(told), before, after, now.contradicted)


def _doing(problem: Problem, action: NextAction) -> str:
    number = problem.numbers[action.action]
    if number < len(problem.checks):
        return say(
            "Next: {action}, in state {state}; {minutes:.1f} min in all.",
            action=action.action,
            state=action.state,
            minutes=action.minutes,
        )
    repair = problem.repairs[number - len(problem.checks)]
    named = {
        "action": action.action,
        "faults": _listed(repair.cures),
        "chance": percent(action.chance_of_cure),
        "minutes": action.minutes,
    }
    if not repair.price:
        return say(
            "Next: {action}, which cures {faults} and helps with a chance of {chance};"
            " {minutes:.1f} min in all, verification included.",
            **named,
        )
    return say(
        "Next: {action}, which cures {faults} and helps with a chance of {chance}; {minutes:.1f}"
        " min in all, parts at {price:g} among them, verification included.",
        price=repair.price,
        **named,
    )


def _foreseen(result: Result, before: dict[str, float]) -> str:
    if not result.leaves:
        return say(
            "If it has {outcome} ({chance}): done and proved.",
            outcome=result.outcome,
            chance=percent(result.chance),
        )
    return say(
        "If '{outcome}' ({chance}): {shift}.",
        outcome=result.outcome,
        chance=percent(result.chance),
        shift=_shift(before, result.leaves),
    )


def _told(last: tuple[str, str], before: dict[str, float], now: dict[str, float]) -> str:
    shift = _shift(before, now)
    return say("{action} = '{outcome}': {shift}.", action=last[0], outcome=last[1], shift=shift)


def _shift(before: dict[str, float], after: dict[str, float]) -> str:
    """Beliefs before and after, and what was ruled out.

    >>> _shift({"A": 0.5, "B": 0.3, "C": 0.2}, {"B": 0.6, "C": 0.4})
    'B 30 % to 60 %, C 20 % to 40 %; ruled out: A'
    """
    names = before.keys() | after.keys()
    if all(abs(after.get(name, 0.0) - before.get(name, 0.0)) < LIKELY for name in names):
        return say("tells next to nothing")
    named = list(after)[:NAMED]
    moves = [
        say(
            "{name} {before} to {after}",
            name=name,
            before=percent(before.get(name, 0.0)),
            after=percent(after[name]),
        )
        for name in named
    ]
    rest = sum(after[name] for name in list(after)[NAMED:])
    if rest >= LIKELY:
        moves.append(say("all others {chance}", chance=percent(rest)))
    gone = [name for name, chance in before.items() if chance >= LIKELY and name not in after]
    text = ", ".join(moves)
    if not gone:
        return text
    return say("{moves}; ruled out: {names}", moves=text, names=_listed(gone))


def _cost(first: NextAction, second: NextAction | None) -> str:
    minutes, avoidable = first.expected_minutes, max(first.avoidable_minutes, 0.0)
    if second is None:
        return say(
            "To protected and proved: {minutes:.1f} min expected, {avoidable:.1f} of them for not"
            " knowing the fault; nothing else is worth doing now.",
            minutes=minutes,
            avoidable=avoidable,
        )
    return say(
        "To protected and proved: {minutes:.1f} min expected, {avoidable:.1f} of them for not"
        " knowing the fault; next best is {action}, {more:.1f} min dearer.",
        minutes=minutes,
        avoidable=avoidable,
        action=second.action,
        more=max(second.expected_minutes - minutes, 0.0),
    )


def _listed(names: tuple[str, ...] | list[str]) -> str:
    """Names in a row, the many counted.

    >>> _listed(["A", "B"]), _listed(["A", "B", "C", "D", "E"])
    ('A and B', 'A, B, C and 2 more')
    """
    if len(names) > NAMED + 1:
        more = say_many("{count} more", "{count} more", len(names) - NAMED)
        return listed([*names[:NAMED], more])
    return listed(names)


def percent(chance: float) -> str:
    """A chance as people read it; never 0 or 100 % unless it is.

    >>> percent(0.314), percent(0.0004), percent(0.9999), percent(1.0), percent(0.004)
    ('31 %', 'under 0.1 %', 'over 99.9 %', '100 %', '0.4 %')
    """
    if 0 < chance < 0.001:
        return say("under {percent:.1f} %", percent=0.1)
    if 0.999 < chance < 1 - 1e-12:
        return say("over {percent:.1f} %", percent=99.9)
    digits = 1 if chance < 0.01 or 0.99 < chance < 0.999 else 0
    return say("{percent:g} %", percent=float(np.round(100 * chance, digits)))
