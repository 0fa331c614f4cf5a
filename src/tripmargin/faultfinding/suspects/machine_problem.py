"""A machine as a fault-finding problem: hypotheses, questions, repairs, costs, from its file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from tripmargin.circuit import network_from_machine
from tripmargin.faultfinding.deciding.problem import CURED, Check, Problem, Repair
from tripmargin.faultfinding.suspects.cause import Cause
from tripmargin.faultfinding.suspects.check_paths import (
    first_shown_by,
    looks_of,
    made_by,
    path_named,
    shown_by,
)
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS, complaint_chances, complaints_by
from tripmargin.faultfinding.suspects.families import families, together
from tripmargin.faultfinding.suspects.hypotheses import NOTHING, Hypothesis, hypotheses_of
from tripmargin.faultfinding.suspects.looks import Answered, Question, answered
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN, RepairWork, repairs_of
from tripmargin.faultfinding.suspects.showing import Shown
from tripmargin.faultfinding.suspects.states import MINUTE, MachineState, machine_states, moves
from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later
from tripmargin.machine import Machine
from tripmargin.machine.check_sections import Checks

CANNOT_TELL, SAW_ELSE = "can't tell", "saw something else"
"""Words that may come of any look."""
ELSE_KNOWN, ELSE_OTHER = 0.004, 0.1
"""Share of looks that show what no listed fault shows: with a listed fault, and without one.
Engineering judgement, no source."""
REMEMBERED = 4
"""Machines whose problems are kept in memory, some 70 MB each."""
ASK = "complaint"
"""Id of the question to the operator."""


@dataclass(frozen=True, eq=False)
class MachineProblem:
    """A machine's problem with what its numbers stand for.

    Attributes
    ----------
    machine : Machine
    checks : Checks
    states : tuple of MachineState
    hypotheses : tuple of Hypothesis
        "nothing" and "something else" are the last two.
    looks : tuple of Answered
        Each check of the problem but the first, which asks for the complaint.
    repairs : tuple of RepairWork
    problem : Problem
    shown : Shown
    invisible : tuple of Hypothesis
        Single faults that no look shows and nobody would complain of: no case can be about them.
    """

    machine: Machine
    checks: Checks
    states: tuple[MachineState, ...]
    hypotheses: tuple[Hypothesis, ...]
    looks: tuple[Answered, ...]
    repairs: tuple[RepairWork, ...]
    problem: Problem
    shown: Shown
    invisible: tuple[Hypothesis, ...]

    @cached_property
    def questions(self) -> dict[str, Question]:
        """Each question by its id."""
        return {each.question.id: each.question for each in self.looks}

    @cached_property
    def works(self) -> dict[str, RepairWork]:
        """Each repair by its id."""
        return {each.id: each for each in self.repairs}

    @cached_property
    def nothing(self) -> int:
        """Number of the hypothesis that the machine is sound."""
        return len(self.hypotheses) - 2

    @cached_property
    def family(self) -> NDArray[np.intp]:
        """Number of the first hypothesis that is the same fault, at whatever strength; (H,)."""
        return families(self.hypotheses)

    def together(self, belief: NDArray[np.float64]) -> NDArray[np.float64]:
        """Beliefs with the strengths of each fault added up at the first of them; (H,)."""
        return together(belief, self.family)

    @cached_property
    def daily_shows(self) -> NDArray[np.bool_]:
        """Whether the daily test would show each hypothesis; (H,)."""
        return shown_by(self, path_named(self.checks, self.checks.daily))

    @cached_property
    def daily_shows_at(self) -> NDArray[np.intp]:
        """The step of the daily test, from 0, at which each hypothesis first shows; (H,).

        The number of steps for those that it does not show.
        """
        return first_shown_by(self, path_named(self.checks, self.checks.daily))

    @cached_property
    def daily_steps(self) -> int:
        """How many steps the daily test has: its states, and the looks that belong to it."""
        path = path_named(self.checks, self.checks.daily)
        return len(path.states) + len(looks_of(self, path))

    @cached_property
    def daily_makes(self) -> NDArray[np.bool_]:
        """Whether the daily test makes each of the problem's checks on its way; (checks,)."""
        return made_by(self, path_named(self.checks, self.checks.daily))


def machine_problem(
    machine: Machine, also: Sequence[Cause] = (), *, remember: bool = True
) -> MachineProblem:
    """Read a machine's problem off its file.

    Takes a few seconds: every fault, and the likeliest pairs, go through the circuit in every
    state. `also` are causes that are run too and weigh nothing: nobody thinks of them. `remember`
    is for whoever does not keep the problem himself.

    Raises
    ------
    NotKnownError
        If the machine file has no `[circuit]` or no `[checks]`.

    Notes
    -----
    The last few machines are remembered: a chart after a case reads nothing anew.
    """
    return _remembered(machine) if remember and not also else _read(machine, also)


@lru_cache(maxsize=REMEMBERED)
def _remembered(machine: Machine) -> MachineProblem:
    return _read(machine, ())


def _read(machine: Machine, also: Sequence[Cause]) -> MachineProblem:
    checks = machine.checks
    if checks is None:
        raise NotKnownError(later("what is broken"), ["checks"])
    network = network_from_machine(machine)
    states = machine_states(machine, checks)
    every = hypotheses_of(machine, network, also)
    shown = Shown(machine, network, states, every)
    looks = answered(shown, checks, states, every)
    shown.keep()
    seen = _visible(shown, looks, every)
    weights, first = _alike_at_other_strengths(shown, looks, every)
    keep = np.flatnonzero(seen & first)
    hypotheses = tuple(replace(every[k], weight=float(weights[k])) for k in keep)
    shown = shown.of(keep)
    looks = tuple(Answered(each.question, each.answers[keep]) for each in looks)
    works = repairs_of(machine, checks, hypotheses)
    problem = _problem(checks, states, hypotheses, looks, works, shown)
    invisible = tuple(e for e, s in zip(every, seen, strict=True) if not s and e.listed)
    return MachineProblem(
        machine, checks, states, hypotheses, looks, works, problem, shown, invisible
    )


def _visible(
    shown: Shown, looks: Sequence[Answered], hypotheses: Sequence[Hypothesis]
) -> NDArray[np.bool_]:
    """Whether anything shows each hypothesis; a pair only where both of its faults are; (H,)."""
    told = complaints_by(shown, hypotheses)[:, :-1].any(axis=1, keepdims=True)
    differs = [told, *((each.answers != 0)[:, None] for each in looks)]
    seen = np.asarray(np.concatenate(differs, axis=1).any(axis=1))
    seen[-2:] = True
    single = {each.id: bool(s) for each, s in zip(hypotheses, seen, strict=True)}
    return np.array(
        [s and all(single[cause.id] for cause in each.causes)
         for each, s in zip(hypotheses, seen, strict=True)]
    )  # fmt: skip


def _alike_at_other_strengths(
    shown: Shown, looks: Sequence[Answered], hypotheses: Sequence[Hypothesis]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Weights with strengths of one fault that show the same taken together, and which are kept.

    (H,) and (H,): of strengths that nothing tells apart the listed one is kept, else the first.
    """
    told = complaints_by(shown, hypotheses)
    answers = np.column_stack([told, *(each.answers for each in looks)])
    weights = np.array([each.weight for each in hypotheses])
    first, known = np.ones(len(hypotheses), bool), dict[tuple[str, bytes], int]()
    for k, each in enumerate(hypotheses):
        if len(each.causes) != 1 or each.weight == 0.0:
            continue
        cause = each.causes[0]
        at = known.setdefault((cause.strength_of or cause.id, answers[k].tobytes()), k)
        if at != k:
            weights[at] += weights[k]
            weights[k], first[k] = 0.0, False
    return weights, first


def _problem(
    checks: Checks,
    states: Sequence[MachineState],
    hypotheses: Sequence[Hypothesis],
    looks: Sequence[Answered],
    works: Sequence[RepairWork],
    shown: Shown,
) -> Problem:
    """The arrays of the problem."""
    names = [state.name for state in states]
    move = moves(checks)
    rest = next(k for k, state in enumerate(checks.states) if state.after is None)
    daily = path_named(checks, checks.daily)
    verify = names.index(daily.states[-1])
    weights = np.array([each.weight for each in hypotheses])
    asked = [Check(f"check:{ASK}", rest, 1.0, tuple(COMPLAINTS))]
    for each in looks:
        question = each.question
        outcomes = (*question.words, CANNOT_TELL, SAW_ELSE)
        state = names.index(question.state)
        asked.append(Check(f"check:{question.id}", state, question.minutes, outcomes))
    tables = [_chances(checks, each, hypotheses, weights) for each in looks]
    per_price = 60.0 / checks.price_of_an_hour.nominal
    return Problem(
        hypotheses=tuple(each.id for each in hypotheses),
        prior=weights / weights.sum(),
        states=tuple(names),
        move=move,
        start_state=rest,
        verify_state=verify,
        verify_minutes=max(daily.minutes.nominal / MINUTE - float(move[rest, verify]), 0.5),
        checks=tuple(asked),
        likelihood=np.concatenate([complaint_chances(shown, hypotheses), *tables], axis=1),
        repairs=tuple(
            Repair(
                f"repair:{work.id}",
                rest,
                work.minutes + per_price * work.price,
                work.price,
                tuple(h.id for h in hypotheses if _mends(work, h)),
            )
            for work in works
        ),
        left=_left(works, hypotheses),
        again_after_repair=True,
        given=(),
        something_else=len(hypotheses) - 1,
    )


def _chances(
    checks: Checks, look: Answered, hypotheses: Sequence[Hypothesis], weights: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Chance of each word of a question under each hypothesis; (H, words and two more).

    A listed fault gives its word but for slips; one that comes and goes gives a sound machine's
    word while it is away. What is not listed gives half what the listed faults give on average,
    and half a toss between the words.
    """
    count = len(look.question.words)
    wrong, unsure = checks.wrong.nominal, checks.cannot_tell.nominal
    shows = np.array([each.shows for each in hypotheses])[:, None]
    words = np.eye(count)
    slipped = (1 - wrong) * words + wrong / (count - 1) * (1 - words)
    seen = shows * slipped[look.answers] + (1 - shows) * slipped[0]
    average = weights[:-1] @ seen[:-1] / weights[:-1].sum()
    seen[-1] = 0.5 * average + 0.5 / count
    other = np.full(len(hypotheses), ELSE_KNOWN)
    other[-1] = ELSE_OTHER
    rest = 1 - unsure - other
    found: NDArray[np.float64] = np.concatenate(
        [seen * rest[:, None], np.full((len(hypotheses), 1), unsure), other[:, None]], axis=1
    )
    return found


def _mends(work: RepairWork, hypothesis: Hypothesis) -> bool:
    """Whether a repair leaves nothing of a hypothesis, and shows it.

    Handing over leaves a listed fault where it is: whoever takes over has it still to mend. That
    nothing is wrong the daily test shows; no part is replaced for it.
    """
    if hypothesis.id == NOTHING:
        return work.id == PROVE_AGAIN
    if not hypothesis.causes:
        return work.id == HAND_OVER
    return all(cause.mended in work.mended for cause in hypothesis.causes)


def _left(works: Sequence[RepairWork], hypotheses: Sequence[Hypothesis]) -> NDArray[np.intp]:
    """What each repair leaves of each hypothesis; (R, H)."""
    number = {each.id: k for k, each in enumerate(hypotheses)}
    left = np.empty((len(works), len(hypotheses)), dtype=np.intp)
    for row, work in enumerate(works):
        for column, hypothesis in enumerate(hypotheses):
            if _mends(work, hypothesis):
                left[row, column] = CURED
                continue
            rest = [cause.id for cause in hypothesis.causes if cause.mended not in work.mended]
            kept = rest if len(rest) < len(hypothesis.causes) else [hypothesis.id]
            left[row, column] = number[kept[0]]
    return left
