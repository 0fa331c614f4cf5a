"""What is hidden: the same seed the same drill, by the rates of the faults."""

from __future__ import annotations

import numpy as np
import pytest

from tests.faultfinding.problems import problem_of
from tripmargin import drills
from tripmargin.drills.broken_machine import BrokenMachine, toss
from tripmargin.faultfinding import MachineProblem
from tripmargin.faultfinding.suspects.complaints import complaints_by

SEEDS = range(14)
machines = pytest.mark.parametrize("name", ["dunlin", "whimbrel"])


@pytest.fixture(scope="module")
def dunlin() -> MachineProblem:
    return problem_of("dunlin")


@machines
def test_the_same_seed_gives_the_same_fault_and_the_same_answers_in_any_order(name: str) -> None:
    of = problem_of(name)
    for seed in (3, 11):
        one, two = drills.drill(of, seed=seed), drills.drill(of, seed=seed)
        assert one.fault.id == two.fault.id
        assert one.complaint == two.complaint
        looks = list(of.questions)
        shown = {each: one.play.machine.look(each) for each in looks}
        assert {each: two.play.machine.look(each) for each in reversed(looks)} == shown


def test_faults_are_drawn_by_their_rates_one_at_a_time(dunlin: MachineProblem) -> None:
    weights = {e.id: e.weight for e in dunlin.hypotheses if len(e.causes) == 1}
    faults = [drills.drill(dunlin, seed=seed).fault for seed in range(160)]
    assert all(len(each.causes) == 1 for each in faults)
    assert len({each.id for each in faults}) > 50
    commonest = max(weights, key=lambda each: weights[each])
    share = weights[commonest] / sum(weights.values())
    count = sum(each.id == commonest for each in faults)
    # 4 standard deviations of a count, and the one in ten faults that are drawn anew
    assert abs(count - 160 * share) < 4 * np.sqrt(160 * share) + 16 * share


def test_a_machine_with_a_lasting_fault_shows_what_the_circuit_says(dunlin: MachineProblem) -> None:
    row = [each.id for each in dunlin.hypotheses].index("X1:open")
    machine = BrokenMachine(dunlin, 1, row)
    for look in dunlin.looks:
        name, word = look.question.id, look.question.words[look.answers[row]]
        assert machine.look(name) == word
    assert machine.test() == dunlin.daily_shows_at[row] + 1
    wrong, right = (dunlin.problem.numbers[f"repair:mend {part}"] - len(dunlin.problem.checks)
                    for part in ("F1", "X1"))  # fmt: skip
    assert not machine.mend(wrong)
    assert machine.test() is not None
    assert machine.mend(right)
    assert machine.sound
    assert machine.test() is None
    assert all(machine.look(each) == dunlin.questions[each].sound for each in dunlin.questions)


def test_a_fault_that_comes_and_goes_does_so_as_often_as_it_shows(dunlin: MachineProblem) -> None:
    row, fault = next((k, e) for k, e in enumerate(dunlin.hypotheses) if e.shows < 1)
    look = next(each for each in dunlin.looks if each.answers[row] != 0)
    machine, word = BrokenMachine(dunlin, 5, row), look.question.words[look.answers[row]]
    many = sum(machine.look(look.question.id) == word for _ in range(2000))
    # 4 standard deviations of a share
    assert many / 2000 == pytest.approx(fault.shows, abs=4 * 0.5 / np.sqrt(2000))


def test_the_operator_says_what_the_fault_gives_cause_for(dunlin: MachineProblem) -> None:
    told = complaints_by(dunlin.shown, dunlin.hypotheses)
    names = [each.id for each in dunlin.hypotheses]
    for seed in SEEDS:
        drill = drills.drill(dunlin, seed=seed)
        row = names.index(drill.fault.id)
        said = dunlin.problem.checks[0].outcomes.index(drill.complaint)
        assert told[row, said]


def test_tosses_are_even() -> None:
    tosses = np.array([toss(7, "even", k) for k in range(4000)])
    assert 0 <= tosses.min() < tosses.max() < 1
    # a uniform number's mean 1/2 and variance 1/12, 4 standard errors
    assert tosses.mean() == pytest.approx(0.5, abs=4 / np.sqrt(12 * 4000))
    assert tosses.var() == pytest.approx(1 / 12, abs=0.006)
