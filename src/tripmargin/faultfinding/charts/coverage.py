"""Which faults each check of the protection shows, and which it leaves open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.charts.covered import Coverage, CoveredFault, PathCoverage
from tripmargin.faultfinding.charts.effects import effects_of, single_faults
from tripmargin.faultfinding.suspects.check_paths import shown_by
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.machine.check_sections import CheckPath

if TYPE_CHECKING:
    from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
    from tripmargin.machine import Machine

SIGNS = ("lamp", "buzzer")
"""Kinds of look that a person at the controls sees or hears unasked."""


def coverage(machine: Machine | MachineProblem) -> Coverage:
    """Which single faults each check shows, and which stay open.

    Parameters
    ----------
    machine : Machine or MachineProblem

    Raises
    ------
    NotKnownError
        If the machine file has no `[circuit]` or no `[checks]`.

    Notes
    -----
    Looks are taken as made without slips, and a fault that comes and goes as there.
    """
    from tripmargin.faultfinding.suspects.machine_problem import MachineProblem, machine_problem

    of = machine if isinstance(machine, MachineProblem) else machine_problem(machine)
    single = single_faults(of)
    rates = np.array([each.causes[0].rate for each in single])
    by_path = {path.name: _single(of, shown_by(of, path)) for path in of.checks.paths}
    by_kind = shown_by_kinds(of)
    paths = tuple(
        _path(path.name, path.minutes.nominal / 60.0, by_path[path.name], single, rates, path)
        for path in of.checks.paths
    )
    kinds = tuple(_path(kind, 0.0, found, single, rates) for kind, found in by_kind.items())
    metal = [each.metal for each in effects_of(of)]
    faults = [_fault(of, each, metal[k], _named(by_path, k), _named(by_kind, k))
              for k, each in enumerate(single)]  # fmt: skip
    quiet, until = _before_a_stop(of)
    ever = _signs_differ(of, {state.name for state in of.states})
    before, feeding = _signs_differ(of, until), _signs_differ(of, quiet)
    shown = np.any([*by_kind.values()], axis=0)
    open_daily = ~by_path[of.checks.daily] & shown
    return Coverage(
        of.machine.name,
        of.checks.daily,
        tuple(sorted(faults, key=lambda each: -each.rate)),
        paths,
        kinds,
        _ids(single, ~ever),
        _ids(single, ~before & ever),
        _ids(single, ~feeding & before),
        _ids(single, open_daily),
        tuple(each.id for each in of.invisible),
        tuple(sorted({each.source for each in faults})),
    )


def shown_by_kinds(of: MachineProblem) -> dict[str, NDArray[np.bool_]]:
    """Whether each kind of look, in some state, shows each of `single_faults`."""
    found: dict[str, NDArray[np.bool_]] = {}
    for each in of.looks:
        shows = _single(of, each.answers != 0)
        kind = each.question.kind
        found[kind] = found[kind] | shows if kind in found else shows
    return found


def _single(of: MachineProblem, shown: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """An array over hypotheses as one over `single_faults`; nothing shows the last of these."""
    alone = np.array([each.listed for each in of.hypotheses])
    return np.concatenate([shown[alone], np.zeros(len(of.invisible), bool)])


def _before_a_stop(of: MachineProblem) -> tuple[set[str], set[str]]:
    """States in which a sound machine feeds, and all states, where no stop has been asked for."""
    until = {state.name for state in of.states if not asks_for_a_stop(of, state.steps)}
    feeding = {
        state.name
        for number, state in enumerate(of.states)
        if of.shown.words(number, "rolls")[of.nothing] == "forward"
    }
    return feeding & until, until


def _signs_differ(of: MachineProblem, states: set[str]) -> NDArray[np.bool_]:
    """Whether a lamp or buzzer is not a sound machine's in some of the states; `single_faults`."""
    found = np.zeros(len(of.hypotheses), bool)
    for each in of.looks:
        if each.question.kind in SIGNS and each.question.state in states:
            found |= each.answers != 0
    return _single(of, found)


def asks_for_a_stop(of: MachineProblem, steps: Sequence[str]) -> bool:
    """Whether metal comes or the check button is pressed on the way through some steps."""
    known = {step.name: step for step in of.shown.network.steps}
    detector = of.shown.network.detector
    button = None if detector is None or detector.check is None else detector.check.button
    return any(
        known[name].metal or (button is not None and known[name].position(button) == "on")
        for name in steps
    )


def _path(
    name: str,
    minutes: float,
    shows: NDArray[np.bool_],
    single: Sequence[Hypothesis],
    rates: NDArray[np.float64],
    path: CheckPath | None = None,
) -> PathCoverage:
    return PathCoverage(
        name,
        minutes,
        float(rates[shows].sum() / rates.sum()),
        _ids(single, shows),
        _ids(single, ~shows),
        "" if path is None else path.proves or "",
        "" if path is None else path.leaves_open or "",
    )


def _named(by: dict[str, NDArray[np.bool_]], fault: int) -> tuple[str, ...]:
    return tuple(name for name, shows in by.items() if shows[fault])


def _fault(
    of: MachineProblem,
    fault: Hypothesis,
    metal: str,
    paths: tuple[str, ...],
    kinds: tuple[str, ...],
) -> CoveredFault:
    cause = fault.causes[0]
    return CoveredFault(
        fault.id,
        fault.text,
        cause.mended,
        cause.rate,
        cause.source,
        cause.shows < 1,
        metal,
        paths,
        kinds,
        *_quickest(of, fault),
    )


def _quickest(of: MachineProblem, fault: Hypothesis) -> tuple[str, float]:
    """The look that shows a fault in the least time from rest, and its minutes."""
    if fault.id not in of.problem.hypotheses:
        return "", 0.0
    row = of.problem.hypotheses.index(fault.id)
    move, start = of.problem.move, of.problem.start_state
    names = of.problem.states
    costs = [
        (each.question.minutes + float(move[start, names.index(each.question.state)]), k)
        for k, each in enumerate(of.looks)
        if each.answers[row] != 0
    ]
    if not costs:
        return "", 0.0
    minutes, k = min(costs)
    return of.looks[k].question.id, minutes


def _ids(single: Sequence[Hypothesis], chosen: NDArray[np.bool_]) -> tuple[str, ...]:
    return tuple(each.id for each, yes in zip(single, chosen, strict=True) if yes)
