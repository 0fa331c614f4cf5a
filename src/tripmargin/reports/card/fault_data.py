"""A machine's fault-finding problem as data for a page that finds faults by itself.

The page computes what `faultfinding.cases` computes here, from the same numbers; so they are handed
over whole, as Python prints them, and nothing is rounded.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.cases.cards import FAILED, PASSED, do_words, seen_from_the_seat
from tripmargin.faultfinding.cases.cautions import AT_REST, FIRST, cautions_for, said
from tripmargin.faultfinding.cases.proving import fail_chances, pass_chances
from tripmargin.faultfinding.cases.ways import daily_test
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.faultfinding.suspects.machine_problem import CANNOT_TELL, SAW_ELSE, MachineProblem
from tripmargin.faultfinding.suspects.states import chain_to
from tripmargin.faultfinding.wording.card_words import daily_cautions, hour_words, must_show
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written


def fault_data(of: MachineProblem) -> dict[str, Any]:
    """Everything that `script/faults.js` needs of a machine's problem; JSON-ready.

    Parameters
    ----------
    of : MachineProblem

    Returns
    -------
    dict
        Minutes, chances from 0 to 1. `values` are the different chances of the likelihood; a
        check's `rows` are numbers into them, one list for each way that hypotheses answer it, and
        its `answers` say which row each hypothesis takes.
    """
    problem = of.problem
    values, numbers = np.unique(problem.likelihood, return_inverse=True)
    numbers = numbers.reshape(problem.likelihood.shape)
    return {
        "hypotheses": [
            {"id": each.id, "said": each.said, "shows": each.shows} for each in of.hypotheses
        ],
        "family": of.family.tolist(),
        "nothing": of.nothing,
        "prior": problem.prior.tolist(),
        "states": [_state(of, number) for number in range(len(of.states))],
        "move": problem.move.tolist(),
        "rest": problem.start_state,
        "verify": problem.verify_state,
        "verify_minutes": problem.verify_minutes,
        "values": values.tolist(),
        "checks": [
            _check(of, number, numbers[:, first:last])
            for number, (first, last) in enumerate(
                zip(problem.columns[:-1], problem.columns[1:], strict=True)
            )
        ],
        "repairs": [_repair(of, number) for number in range(len(of.repairs))],
        "daily": _daily(of),
        "complaints": {name: say(sentence) for name, sentence in COMPLAINTS.items()},
        "cautions": {"rest": list(said(AT_REST)), "first": say(FIRST)},
        "said": _said((PASSED, FAILED), word_said),
        "unsure": {"cannot_tell": CANNOT_TELL, "saw_else": SAW_ELSE},
        "prices": hour_words(of),
    }


def _said(words: Iterable[str], say_word: Callable[[str], str]) -> dict[str, str]:
    """Words by which findings are kept, each as it is read; those alone that differ."""
    return {word: said for word in words if (said := say_word(word)) != word}


def _state(of: MachineProblem, number: int) -> dict[str, Any]:
    state = of.states[number]
    return {
        "name": state.name,
        "said": as_written(state.name),
        "chain": [each.name for each in chain_to(of.checks, state.name)],
        "way": list(state.way),
        "running": state.running,
        "cautions": list(cautions_for(state)),
        "two": list(cautions_for(state, second_person=True)),
    }


def _check(of: MachineProblem, number: int, chances: NDArray[np.intp]) -> dict[str, Any]:
    check = of.problem.checks[number]
    rows, answers = np.unique(chances, axis=0, return_inverse=True)
    found: dict[str, Any] = {
        "id": check.id.partition(":")[2],
        "state": check.state,
        "minutes": check.minutes,
        "words": list(check.outcomes),
        "rows": rows.tolist(),
        "answers": answers.reshape(-1).tolist(),
    }
    if number == 0:
        return found
    question = of.looks[number - 1].question
    found |= {
        "kind": question.kind,
        "subject": question.subject,
        "do": do_words(question),
        "place": question.place,
        "sound": question.sound,
        "said": _said((*question.words, CANNOT_TELL, SAW_ELSE), question.said),
        "two": (of.states[check.state].running or of.states[check.state].live)
        and not seen_from_the_seat(of, question),
    }
    if question.bands is not None:
        found["bands"] = {
            "limits": list(question.bands.limits),
            "words": list(question.bands.words),
            "unit": question.bands.unit,
            "least": _finite(question.bands.least),
            "most": _finite(question.bands.most),
        }
    return found


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _repair(of: MachineProblem, number: int) -> dict[str, Any]:
    work, repair, left = of.repairs[number], of.problem.repairs[number], of.problem.left[number]
    changed = np.flatnonzero(left != np.arange(len(left)))
    return {
        "id": work.id,
        "state": repair.state,
        "minutes": repair.minutes,
        "work": work.minutes,
        "price": work.price,
        "module": work.module,
        "do": work.do,
        "place": work.place,
        "left": [[int(h), int(left[h])] for h in changed],
    }


def _daily(of: MachineProblem) -> dict[str, Any]:
    """The daily test: what it shows of each hypothesis, and what a person does in it."""
    steps = daily_test(of)
    return {
        "name": of.checks.daily,
        "cautions": list(daily_cautions(steps)),
        "steps": [{"do": step.do, "must": must_show(step)} for step in steps],
        "count": of.daily_steps,
        "passes": pass_chances(of).tolist(),
        "passes_again": pass_chances(of, again=True).tolist(),
        "fails": fail_chances(of).tolist(),
        "fails_at": [fail_chances(of, step).tolist() for step in range(1, of.daily_steps + 1)],
        "makes": np.flatnonzero(of.daily_makes).tolist(),
    }
