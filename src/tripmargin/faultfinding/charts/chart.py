"""The fault chart on paper: for every complaint, numbered steps down to a repair, computed.

The steps are those of the policy that the cards follow, by its index alone. A paper chart has no
branches for "can't tell", "saw something else" and what hardly ever comes: these go to the tool.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from tripmargin.faultfinding.cases.cards import card_of
from tripmargin.faultfinding.charts.alike import alike
from tripmargin.faultfinding.charts.chart_steps import (
    Branch,
    Chart,
    ChartState,
    ChartStep,
    ComplaintChart,
    Likely,
)
from tripmargin.faultfinding.charts.chart_tree import Draft, Grower
from tripmargin.faultfinding.deciding.policy import Policy
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.deciding.ranking import NextAction, Result
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS, complaints_by
from tripmargin.faultfinding.suspects.machine_problem import ASK, MachineProblem, machine_problem
from tripmargin.ground.languages import say
from tripmargin.machine import Machine

LEAST = 0.001
"""Share of all cases below which a branch is left to the tool, so that paper stays readable. The
same for every complaint, so that each step on paper is worth as much as any other."""
NAMED = 3
"""Hypotheses named at a step."""


def chart(
    machine: Machine | MachineProblem,
    *,
    complaints: Sequence[str] | None = None,
    least: float = LEAST,
) -> Chart:
    """The fault chart of a machine, computed from its file.

    Parameters
    ----------
    machine : Machine or MachineProblem
    complaints : sequence of str, optional
        Some of `COMPLAINTS`; left out, all that a fault of this machine gives rise to.
    least : float
        Share of all cases below which a branch is left to the tool.

    Returns
    -------
    Chart

    Raises
    ------
    NotKnownError
        If the machine file has no `[circuit]` or no `[checks]`.
    ProblemError
        If a complaint is unknown, or `least` is not a share.

    Notes
    -----
    The next step is that of `Policy(problem, "index")` after the complaint and the answers so far.
    Branches with equal steps from there on are drawn once.
    """
    of = machine if isinstance(machine, MachineProblem) else machine_problem(machine)
    if not 0 < least < 1:
        raise ProblemError(
            "least", least, say("not a share of cases"), say("a number between 0 and 1")
        )
    wanted = complaints_of(of) if complaints is None else tuple(complaints)
    for each in wanted:
        if each not in COMPLAINTS:
            raise ProblemError("complaint", each, say("no such complaint"), ", ".join(COMPLAINTS))
    grower = Grower(of, Policy(of.problem, "index"), least)
    return Chart(
        of.machine.name,
        of.checks.daily,
        of.checks.wrong.nominal,
        of.checks.cannot_tell.nominal,
        least,
        tuple(_complaint(of, each, grower.grow(each)) for each in wanted),
        tuple(
            ChartState(each.name, state.after or "", each.way[-1])
            for each, state in zip(of.states, of.checks.states, strict=True)
        ),
        alike(of),
        tuple(sorted({cause.source for each in of.hypotheses for cause in each.causes})),
    )


def complaints_of(of: MachineProblem) -> tuple[str, ...]:
    """The complaints that some fault of the machine gives rise to."""
    told = np.asarray(complaints_by(of.shown, of.hypotheses).any(axis=0))
    return tuple(name for name, some in zip(COMPLAINTS, told, strict=True) if some)


def _complaint(of: MachineProblem, complaint: str, root: Draft | str) -> ComplaintChart:
    drafts = list(_in_order(root))
    numbers = {id(draft): k for k, draft in enumerate(drafts, start=1)}
    first = of.problem.columns[of.problem.numbers[f"check:{ASK}"]]
    told = of.problem.likelihood[:, first + list(COMPLAINTS).index(complaint)]
    share = float(of.problem.prior @ told)
    leads = sum((_cured(of, draft) for draft in drafts), np.zeros(2)) / share
    return ComplaintChart(
        complaint,
        say(COMPLAINTS[complaint]),
        share,
        tuple(_step(of, draft, numbers, share) for draft in drafts),
        *(min(float(each), 1.0) for each in leads),
    )


def _in_order(root: Draft | str) -> Iterator[Draft]:
    """Each step once, the likeliest branch of each first, as they are numbered."""
    waiting, seen = [root], set()
    while waiting:
        draft = waiting.pop()
        if isinstance(draft, str) or id(draft) in seen:
            continue
        seen.add(id(draft))
        yield draft
        waiting += [way for _, _, way in sorted(draft.ways, key=lambda way: way[1])]


def _cured(of: MachineProblem, draft: Draft) -> np.ndarray:
    """Share of all cases that a step's repair cures, with slips and without; none for a look."""
    number = draft.action - len(of.problem.checks)
    if number < 0:
        return np.zeros(2)
    found: np.ndarray = draft.weight[:, of.problem.left[number] == CURED].sum(axis=1)
    return found


def _step(of: MachineProblem, draft: Draft, numbers: dict[int, int], share: float) -> ChartStep:
    problem, here = of.problem, draft.chance
    branches = []
    action = problem.actions[draft.action]
    kind, _, name = action.partition(":")
    sound = of.questions[name].sound if kind == "check" else ""
    for word, chance, way in draft.ways:
        to = None if isinstance(way, str) else numbers[id(way)]
        end = way if isinstance(way, str) else ""
        branches.append(Branch(word, chance / here, to, end, word == sound))
    belief = of.together(draft.weight[0] / here)
    cure = float(_cured(of, draft)[0]) / here
    card = card_of(of, _as_action(of, action, draft, cure))
    minutes = of.works[name].minutes if kind == "repair" else of.questions[name].minutes
    return ChartStep(
        numbers[id(draft)],
        card.kind,
        name,
        card.cautions,
        card.state,
        card.way,
        of.works[name].do if kind == "repair" else card.do,
        card.place,
        minutes,
        draft.moving,
        here / share,
        tuple(branches),
        tuple(
            Likely(of.hypotheses[h].id, of.hypotheses[h].said, float(belief[h]))
            for h in np.argsort(-belief, kind="stable")[:NAMED]
        ),
        cure,
        card.price,
        card.module,
        draft.also,
    )


def _as_action(of: MachineProblem, action: str, draft: Draft, cure: float) -> NextAction:
    """The action in the form that cards are made of."""
    problem = of.problem
    number = problem.numbers[action]
    count = len(problem.checks)
    place = (
        problem.checks[number].state if number < count else problem.repairs[number - count].state
    )
    results = tuple(Result(word, chance / draft.chance, {}) for word, chance, _ in draft.ways)
    return NextAction(action, problem.states[place], 0.0, 0.0, cure, 0.0, 0.0, results, "index")
