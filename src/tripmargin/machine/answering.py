"""Many answers of `machine new` at once, as a form sends them: taken, or refused field by field."""

from __future__ import annotations

from collections.abc import Mapping

from tripmargin.ground.errors import MachineFileError, Problem
from tripmargin.ground.languages import say
from tripmargin.machine.asking import Answers, Question, tables_of, value_of
from tripmargin.machine.files import Sheet
from tripmargin.machine.loading import machine_from
from tripmargin.machine.odd_answers import odd_answer


def answer_all(answers: Answers, texts: Mapping[str, str]) -> dict[str, tuple[Problem, ...]]:
    """Take every answer that can stand; what is wrong with the others.

    Parameters
    ----------
    answers : Answers
        Its values are replaced by those of the answers that can stand.
    texts : mapping of str to str
        Field to what was written; empty ones, and those that are not asked, are left out.

    Returns
    -------
    dict of str to tuple of Problem
        By field, in the order of the questions.

    Notes
    -----
    The machine is read with all answers, and again without those that have a problem: two readings
    where one after the other would take as many as there are answers.
    """
    asked = {q.name: q for q in answers.questions() if texts.get(q.name, "").strip()}
    odd = {
        name: odd_answer(name, q.spec.kind, q.allowed(), texts[name]) for name, q in asked.items()
    }
    wrong: dict[str, tuple[Problem, ...]] = {
        name: (problem,) for name, problem in odd.items() if problem is not None
    }
    left = {
        name: value_of(q, texts[name], us=answers.us)
        for name, q in asked.items()
        if name not in wrong
    }
    while True:
        values = {asked[name].path: value for name, value in left.items()}
        try:
            _read(answers, values)
        except MachineFileError as error:
            found = _by_question(error, left)
            if found is None:
                return _one_by_one(answers, asked, texts)
            wrong |= found
            left = {name: value for name, value in left.items() if name not in found}
        else:
            answers.values = values
            return {name: wrong[name] for name in asked if name in wrong}


def _read(answers: Answers, values: Mapping[tuple[str, ...], object]) -> None:
    file = say("your answer")
    sheet = Sheet(file, b"", tables_of(dict(values)))
    machine_from((sheet, *answers.sheets), file)


def _by_question(
    error: MachineFileError, left: Mapping[str, object]
) -> dict[str, tuple[Problem, ...]] | None:
    """The problems by the question that each belongs to; None where one belongs to none."""
    found: dict[str, tuple[Problem, ...]] = {}
    for problem in error.problems:
        of = [n for n in left if problem.field == n or problem.field.startswith((f"{n}.", f"{n}["))]
        if len(of) != 1:
            return None
        found[of[0]] = (*found.get(of[0], ()), problem)
    return found


def _one_by_one(
    answers: Answers, asked: Mapping[str, Question], texts: Mapping[str, str]
) -> dict[str, tuple[Problem, ...]]:
    """The later of two answers that do not go together is the one refused."""
    answers.values = {}
    wrong: dict[str, tuple[Problem, ...]] = {}
    for name, question in asked.items():
        try:
            answers.answer(question, texts[name])
        except MachineFileError as error:
            wrong[name] = error.problems
    return wrong
