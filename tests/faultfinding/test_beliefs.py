"""Beliefs after findings and repairs, against a second reading of the conventions."""

from __future__ import annotations

import copy

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.faultfinding.walking import Walk
from tripmargin.faultfinding import (
    ContradictionError,
    Problem,
    explain,
    next_actions,
    policy,
    situation_after,
)
from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem

recipes = st.builds(
    Recipe,
    faults=st.integers(2, 6),
    checks=st.integers(1, 6),
    slips=st.booleans(),
    cannot_tell=st.sampled_from([0.0, 0.05]),
    pairs=st.sampled_from([0.0, 0.1]),
    swaps=st.integers(0, 1),
    other=st.booleans(),
)
seeds = st.integers(0, 10_000)


def random_history(problem, rng, length):
    """A history that can happen: actions at random, outcomes at random among the possible."""
    walk, belief, history, used = Walk(problem), None, [], set()
    belief = walk.start()
    for _ in range(length):
        names = [name for name in (*walk.checks, *walk.repairs) if name not in used]
        name = str(rng.choice(names))
        if name in walk.checks:
            used.add(name)
            outcomes = walk.checks[name]["outcomes"]
            real = [o for o in outcomes if walk.seen(belief, name, o)[0] > 1e-9]
            outcome = str(rng.choice(real))
            belief = walk.seen(belief, name, outcome)[1]
        else:
            chance, later = walk.unhelped(belief, name)
            if chance < 1e-9:
                continue
            outcome, belief = "failed", later
            if problem["repeat"] == "after_repair":
                used.clear()
        history.append((name, outcome))
    return history, belief


@given(recipes, seeds, st.integers(0, 8))
def test_beliefs_sum_to_one_and_follow_from_bayes_rule(recipe, seed, length):
    problem = made_up_problem(recipe, seed)
    history, belief = random_history(problem, np.random.default_rng(seed), length)
    read = Problem.from_dict(problem)
    found = situation_after(read, history)
    assert found.belief.sum() == pytest.approx(1.0, abs=1e-12)
    for name, chance in zip(read.hypotheses, found.belief, strict=True):
        faults = frozenset(name.split("+"))
        assert chance == pytest.approx(belief.get(faults, 0.0), abs=1e-12)


@given(recipes, seeds, st.integers(0, 6))
def test_what_an_outcome_would_leave_is_what_it_leaves(recipe, seed, length):
    problem = made_up_problem(recipe, seed)
    history, _ = random_history(problem, np.random.default_rng(seed), length)
    for action in next_actions(problem, history, n=4):
        assert sum(result.chance for result in action.results) == pytest.approx(1.0, abs=1e-9)
        for result in action.results:
            if result.leaves and result.chance > 1e-9:
                read = Problem.from_dict(problem)
                later = situation_after(read, [*history, (action.action, result.outcome)])
                told = [result.leaves.get(name, 0.0) for name in read.hypotheses]
                assert told == pytest.approx(list(later.belief), abs=1e-12)


def contradiction(other):
    """Two sure looks that cannot both be: only F00 shows 'yes' in one, only F01 in the other."""
    problem = made_up_problem(Recipe(faults=2, checks=2, other=other), seed=1)
    for check, shows in zip(problem["checks"], ("F00", "F01"), strict=True):
        for name in check["p"]:
            check["p"][name] = [0.0, 1.0] if name == shows else [1.0, 0.0]
    return problem, [(f"check:{check['id']}", "yes") for check in problem["checks"]]


def test_findings_that_contradict_everything_leave_something_else_and_say_so():
    problem, history = contradiction(other=True)
    found = situation_after(Problem.from_dict(problem), history)
    assert found.belief.tolist() == [0.0, 0.0, 1.0]
    assert found.contradicted == (f"{history[1][0]} = yes",)
    assert policy(problem)(history) == "repair:OTHER"
    assert "only 'something else' is left" in str(explain(problem, history))


def test_something_else_takes_contradictions_even_without_weight_of_its_own():
    problem, history = contradiction(other=True)
    problem["faults"][2]["rate"] = 0.0
    assert policy(problem)(history) == "repair:OTHER"


def test_findings_that_contradict_everything_are_an_error_where_there_is_nothing_else():
    problem, history = contradiction(other=False)
    with pytest.raises(ContradictionError, match="take back") as caught:
        policy(problem)(history)
    assert history[1][0] in str(caught.value)


def test_a_failed_verification_after_the_last_possible_repair_is_a_contradiction():
    problem, _ = contradiction(other=False)
    history = [("repair:F00", "failed"), ("repair:F01", "failed")]
    with pytest.raises(ContradictionError, match="repair:F01 = failed"):
        policy(problem)(history)
    problem, _ = contradiction(other=True)
    with pytest.raises(ContradictionError, match="repair:OTHER = failed"):
        policy(problem)([*history, ("repair:OTHER", "failed")])


def test_a_pair_half_mended_becomes_the_single_fault_that_is_left():
    problem = made_up_problem(Recipe(faults=2, checks=1, pairs=0.5), seed=2)
    rates = {fault["id"]: fault["rate"] for fault in problem["faults"]}
    both = problem["pairs"][0]["weight"]
    read = Problem.from_dict(problem)
    found = situation_after(read, [("repair:F00", "failed")])
    # F01 alone and the pair both leave F01; F00 alone would have passed
    assert dict(zip(read.hypotheses, found.belief, strict=True))["F01"] == 1.0
    chance = next(
        action.chance_of_cure for action in next_actions(problem, [], 9)
        if action.action == "repair:F00"
    )  # fmt: skip
    assert chance == pytest.approx(rates["F00"] / (sum(rates.values()) + both))


def test_checks_may_be_made_again_after_a_repair_only_where_the_problem_says_so():
    problem = made_up_problem(Recipe(faults=3, checks=1, pairs=0.5), seed=2)
    check = Problem.from_dict(problem).checks[0]
    history = [(check.id, check.outcomes[0]), ("repair:F00", "failed")]
    assert not situation_after(Problem.from_dict(problem), history).used.any()
    never = copy.deepcopy(problem) | {"repeat": "never"}
    assert situation_after(Problem.from_dict(never), history).used.all()


def test_given_findings_are_believed_and_leave_the_machine_where_it_was():
    problem = made_up_problem(Recipe(faults=4, checks=2), seed=5)
    problem["checks"][0]["state"] = "key_on"
    problem["given"] = [{"check": problem["checks"][0]["id"], "outcome": "no"}]
    read = Problem.from_dict(problem)
    found = situation_after(read, [])
    assert read.states[found.state] == problem["start_state"]
    assert found.used.tolist() == [True, False]
    assert {
        frozenset([name]): x for name, x in zip(read.hypotheses, found.belief, strict=True) if x > 0
    } == pytest.approx(Walk(problem).start())
