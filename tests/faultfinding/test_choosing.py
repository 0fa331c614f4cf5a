"""What holds for every choice, whatever the problem."""

from __future__ import annotations

import copy

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from tests.faultfinding.test_beliefs import random_history, recipes, seeds
from tests.faultfinding.walking import Walk
from tripmargin.faultfinding import explain, policy
from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem

METHODS = ("best", "look-ahead", "index")
TIED = Recipe(faults=2, checks=2, slips=True, pairs=0.1, swaps=0, other=True)
"""With the seed below, two looks tell the same for the same minutes in different states."""
small = st.builds(
    Recipe,
    faults=st.integers(2, 3),
    checks=st.integers(1, 4),
    slips=st.booleans(),
    pairs=st.sampled_from([0.0, 0.1]),
    swaps=st.integers(0, 1),
    other=st.booleans(),
)


@pytest.mark.parametrize("method", METHODS)
@given(recipe=recipes, seed=seeds, length=st.integers(0, 6))
def test_a_check_with_one_possible_answer_is_never_proposed(method, recipe, seed, length):
    problem = made_up_problem(recipe, seed)
    history, belief = random_history(problem, np.random.default_rng(seed), length)
    walk = Walk(problem)
    actions = policy(problem, method=method).next_actions(history, n=6)
    assert actions
    for action in actions:
        if action.action in walk.checks:
            outcomes = walk.checks[action.action]["outcomes"]
            chances = [walk.seen(belief, action.action, outcome)[0] for outcome in outcomes]
            assert sum(chance > 0 for chance in chances) >= 2
            assert len(action.results) >= 2
        else:
            assert any(walk.repairs[action.action][2] & faults for faults in belief)


@settings(max_examples=25)
@given(recipe=small, seed=seeds)
def test_what_is_said_about_the_cost_is_what_it_costs(recipe, seed):
    problem = made_up_problem(recipe, seed)
    choose = policy(problem)
    first = choose.next_actions([], n=1)[0]
    assume(first.found_by == "exact")
    assert Walk(problem).expected_minutes(choose) == pytest.approx(first.expected_minutes)


@settings(max_examples=25)
@given(recipe=small, seed=seeds)
def test_looking_ahead_costs_no_less_than_exact_and_no_more_than_the_index(recipe, seed):
    problem = made_up_problem(recipe, seed)
    cost = {m: Walk(problem).expected_minutes(policy(problem, method=m)) for m in METHODS}
    assert cost["best"] <= cost["look-ahead"] * (1 + 1e-9)
    assert cost["look-ahead"] <= cost["index"] * (1 + 1e-9)


def relabelled(problem, rng):
    """The same problem with other names, and everything listed in another order."""
    new = copy.deepcopy(problem)
    fresh = rng.permutation(len(new["faults"])).tolist()
    names = {f["id"]: f"Z{k}" for f, k in zip(new["faults"], fresh, strict=True)}
    new["something_else"] = names.get("OTHER")
    if new["something_else"] is None:
        del new["something_else"]
    for fault in new["faults"]:
        fault["id"] = names[fault["id"]]
    for pair in new["pairs"]:
        pair["faults"] = [names[name] for name in pair["faults"]][::-1]
    for swap in new["swaps"]:
        swap["fixes"] = [names[name] for name in swap["fixes"]]
    for number, check in enumerate(new["checks"]):
        check["id"] = f"Q{number}"
        check["p"] = {
            "+".join(names[name] for name in key.split("+")): row for key, row in check["p"].items()
        }
    for key in ("faults", "pairs", "checks", "swaps"):
        new[key] = [new[key][i] for i in rng.permutation(len(new[key]))]
    return new


@pytest.mark.parametrize("method", METHODS)
@settings(max_examples=25)
@given(recipe=small, seed=seeds)
@example(recipe=TIED, seed=176)
def test_other_names_in_another_order_cost_the_same(method, recipe, seed):
    problem = made_up_problem(recipe, seed)
    other = relabelled(problem, np.random.default_rng(seed))
    cost = Walk(problem).expected_minutes(policy(problem, method=method))
    again = Walk(other).expected_minutes(policy(other, method=method))
    assert again == pytest.approx(cost, rel=1e-9)


@pytest.mark.parametrize("method", METHODS)
@settings(max_examples=25)
@given(recipe=small, seed=seeds, yes=st.floats(0.0, 1.0))
def test_a_check_that_tells_nothing_never_raises_the_cost(method, recipe, seed, yes):
    problem = made_up_problem(recipe, seed)
    more = copy.deepcopy(problem)
    blind = copy.deepcopy(more["checks"][0])
    blind |= {"id": "blind", "minutes": 0.0, "outcomes": ["no", "yes"]}
    blind["p"] = {name: [1 - yes, yes] for name in blind["p"]}
    more["checks"].insert(0, blind)
    cost = Walk(problem).expected_minutes(policy(problem, method=method))
    again = Walk(more).expected_minutes(policy(more, method=method))
    assert again <= cost * (1 + 1e-9)


@settings(max_examples=25)
@given(recipe=small, seed=seeds)
def test_one_more_check_of_any_kind_never_raises_the_exact_cost(recipe, seed):
    problem = made_up_problem(recipe, seed)
    fewer = copy.deepcopy(problem)
    del fewer["checks"][0]
    without, with_it = (policy(p).next_actions([], n=1)[0] for p in (fewer, problem))
    assume(with_it.found_by == without.found_by == "exact")
    assert with_it.expected_minutes <= without.expected_minutes * (1 + 1e-9)


def test_every_way_ends_in_a_verified_repair_even_with_slips_and_pairs():
    problem = made_up_problem(Recipe(4, 5, slips=True, cannot_tell=0.05, pairs=0.1, swaps=1), 3)
    walk = Walk(problem)
    for method in METHODS:
        choose = policy(problem, method=method)
        lengths = [len(history) for _, _, history, _ in walk.ways(choose, least=1e-9)]
        assert max(lengths) < 60


def test_more_actions_are_ranked_when_more_are_asked_for():
    problem = made_up_problem(Recipe(20, 20, slips=True), 4)
    choose = policy(problem, method="look-ahead")
    six, ten = choose.next_actions([], n=6), choose.next_actions([], n=10)
    assert (len(six), len(ten)) == (6, 10)
    for actions in (six, ten):
        costs = [action.expected_minutes for action in actions]
        assert costs == sorted(costs)
    assert ten[0].to_dict()["results"][0]["leaves"]


def test_reasons_name_chances_before_and_after_and_what_was_ruled_out():
    problem = made_up_problem(Recipe(faults=4, checks=5), seed=3)
    why = explain(problem, [("repair:F00", "failed")])
    assert "ruled out: F00" in why.last[0]
    assert why.action in why.reasons[0]
    assert any(" % to " in reason for reason in why.reasons)
    assert any("min dearer" in reason or "nothing else" in reason for reason in why.reasons)
    assert sum(why.before.values()) == pytest.approx(1.0)
    assert why.to_dict()["after"].keys() == why.after.keys()


def test_a_swap_is_proposed_with_its_chance_and_its_price_in_view():
    problem = made_up_problem(Recipe(faults=3, checks=1, swaps=1), seed=1)
    problem["swaps"][0] |= {"minutes": 1.0, "price": 7.0, "fixes": ["F00", "F01", "F02"]}
    for fault in problem["faults"]:
        fault["repair_minutes"] = 500.0
    why = explain(problem, [])
    assert why.action == "swap:S0"
    assert "parts at 7" in why.reasons[0]
    assert "with a chance of 100 %" in why.reasons[0]
