"""How to bring the machine into the state that a step asks for, said no longer than it must be.

What is said goes by where the steps before have left the machine. Where that is not one state, the
whole way from rest is said.
"""

from __future__ import annotations

from tripmargin.faultfinding.charts.chart_steps import Chart, ChartState, ComplaintChart
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written

Before = frozenset[str | None]
"""States in which a machine may come to a step; None where that is not known: at the start, and
after a daily test that failed."""


def states_before(each: ComplaintChart) -> dict[int, Before]:
    """For every step of a complaint, the states in which the steps before it leave the machine."""
    found: dict[int, set[str | None]] = {step.id: set() for step in each.steps}
    for step in each.steps:
        left = step.state if step.kind == "look" else None
        for branch in step.branches:
            if branch.to is not None:
                found[branch.to].add(left)
    if each.steps:
        found[each.steps[0].id].add(None)
    return {number: frozenset(states) for number, states in found.items()}


def stays(state: str, before: Before) -> bool:
    """Whether every step before has left the machine in the state."""
    return before == {state}


def way_words(chart: Chart, state: str, before: Before) -> str:
    """How to come into a state that the machine is not in, as one paragraph.

    Parameters
    ----------
    chart : Chart
    state : str
        One of `chart.states`.
    before : frozenset of str or None
        As `states_before` gives them.
    """
    chain = chain_to(chart, state)
    names = [each.name for each in chain]
    if len(before) == 1:
        (left,) = before
        if left in names:
            onward = _said(chain[names.index(left) + 1 :])
            return say(
                "From {left} into {state}: {way}",
                left=as_written(left),
                state=as_written(state),
                way=onward,
            )
    way, name = _said(chain), as_written(state)
    if state in before:
        return say("Into {state}, if it is not in it already: {way}", state=name, way=way)
    if len(chain) > 1:
        return say("Into {state}, from rest: {way}", state=name, way=way)
    return say("Into {state}: {way}", state=name, way=way)


def chain_to(chart: Chart, state: str) -> list[ChartState]:
    """The states on the way to a state, the machine at rest first."""
    known = {each.name: each for each in chart.states}
    chain: list[ChartState] = []
    at = state
    while at:
        chain.insert(0, known[at])
        at = known[at].after
    return chain


def _said(states: list[ChartState]) -> str:
    return " ".join(each.do for each in states)
