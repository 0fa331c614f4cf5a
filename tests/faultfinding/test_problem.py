"""Problems that cannot be used say where, what, and how to mend it."""

from __future__ import annotations

import copy

import pytest

from tripmargin.faultfinding import Problem, ProblemError, policy, situation_after
from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem

GOOD = made_up_problem(Recipe(faults=3, checks=2, pairs=0.1, swaps=1, other=True), seed=1)


def with_value(path, value):
    changed = copy.deepcopy(GOOD)
    place = changed
    for key in path[:-1]:
        place = place[key]
    if value is None:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return changed


WRONG = [
    (("states",), None, "states"),
    (("states",), ["stopped", "stopped", "key_on"], "states"),
    (("start_state",), "key_onn", "start_state"),
    (("state_change_minutes", 0, 2), 99.0, "state_change_minutes[0][2]"),
    (("state_change_minutes", 1, 1), 1.0, "state_change_minutes[1][1]"),
    (("state_change_minutes",), [[0.0]], "state_change_minutes"),
    (("verify", "minutes"), -1, "verify.minutes"),
    (("verify",), None, "verify"),
    (("minutes_per_price_unit",), float("nan"), "minutes_per_price_unit"),
    (("repeat",), "always", "repeat"),
    (("faults", 0, "rate"), "often", "faults[0].rate"),
    (("faults", 0, "id"), "A+B", "faults[].id"),
    (("faults", 1, "id"), "F00", "faults[].id"),
    (("faults", 3, "repair_minutes"), None, "faults[3].repair_minutes"),
    (("faults", 0, "repair_state"), "nowhere", "faults[0].repair_state"),
    (("pairs", 0, "faults"), ["F00", "F09"], "pairs[0].faults"),
    (("pairs", 0, "faults"), ["F01", "F02"], "pairs[2].faults"),
    (("pairs", 0, "weight"), -0.1, "pairs[0].weight"),
    (("swaps", 0, "fixes"), ["F77"], "swaps[0].fixes"),
    (("checks", 0, "p", "F00"), [0.5, 0.6], "checks[0].p['F00']"),
    (("checks", 0, "p", "F00"), [1.0], "checks[0].p['F00']"),
    (("checks", 0, "p", "F00"), [1.5, -0.5], "checks[0].p['F00']"),
    (("checks", 0, "p", "F00+F01"), None, "checks[0].p"),
    (("checks", 0, "p", "F9"), [0.5, 0.5], "checks[0].p"),
    (("checks", 0, "outcomes"), [], "checks[0].outcomes"),
    (("checks", 0, "state"), "off", "checks[0].state"),
    (("checks", 0, "minutes"), True, "checks[0].minutes"),
    (("given",), [{"check": "nope", "outcome": "yes"}], "given[0].check"),
    (("something_else",), "ELSE", "something_else"),
]


@pytest.mark.parametrize(("path", "value", "where"), WRONG)
def test_a_wrong_problem_is_refused_at_the_place_that_is_wrong(path, value, where):
    with pytest.raises(ProblemError) as caught:
        policy(with_value(path, value))
    assert caught.value.where == where
    assert caught.value.allowed
    assert where in str(caught.value)
    assert "Allowed:" in str(caught.value)


def test_a_name_nearly_right_is_hinted_at():
    with pytest.raises(ProblemError, match="Did you mean 'key_on'"):
        policy(with_value(("start_state",), "key_onn"))


def test_a_problem_where_nothing_can_be_wrong_is_refused():
    nothing = copy.deepcopy(GOOD)
    for fault in nothing["faults"]:
        fault["rate"] = 0.0
    nothing["pairs"] = []
    with pytest.raises(ProblemError, match="no hypothesis"):
        policy(nothing)


def test_an_unknown_method_is_refused():
    with pytest.raises(ProblemError, match="look-ahead"):
        policy(GOOD, method="guess")


@pytest.mark.parametrize(
    ("history", "said"),
    [
        ([("check:nope", "yes")], "no such action"),
        ([("repair:F00", "passed")], "ends the case"),
        ([("CHECK", "maybe")], "no such outcome"),
        ([("CHECK", "no"), ("CHECK", "no")], "ask another check"),
    ],
)
def test_a_history_that_cannot_have_been_is_refused(history, said):
    problem = Problem.from_dict(GOOD)
    first = problem.checks[0].id
    history = [(first if name == "CHECK" else name, outcome) for name, outcome in history]
    with pytest.raises(ProblemError, match=said):
        situation_after(problem, history)


def test_a_problem_without_checks_or_swaps_or_pairs_can_be_read():
    bare = copy.deepcopy(GOOD)
    for key in ("checks", "swaps", "pairs", "given", "repeat"):
        del bare[key]
    assert policy(bare)([]).startswith("repair:")


def test_the_cost_for_one_who_knows_is_the_cheapest_way_through():
    # worked by hand: A and B together: repairs 10 and 100 minutes, or a swap of 90 for both;
    # one state, verification 5 after every repair: both repairs 120, the swap 95
    problem = Problem.from_dict(
        {
            "faults": [
                {"id": "A", "rate": 1, "repair_minutes": 10, "price": 0, "repair_state": "s"},
                {"id": "B", "rate": 1, "repair_minutes": 100, "price": 0, "repair_state": "s"},
            ],
            "pairs": [{"faults": ["A", "B"], "weight": 1}],
            "swaps": [{"id": "X", "minutes": 40, "price": 100, "state": "s", "fixes": ["A", "B"]}],
            "checks": [],
            "states": ["s"],
            "state_change_minutes": [[0]],
            "start_state": "s",
            "verify": {"minutes": 5, "state": "s"},
            "minutes_per_price_unit": 0.5,
        }
    )
    assert dict(zip(problem.hypotheses, problem.known_minutes[:, 0], strict=True)) == {
        "A": 15.0,
        "B": 95.0,
        "A+B": 95.0,
    }


def places(value, path=()):
    """Every place in a nested table, with its path."""
    if path:
        yield path
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in items if isinstance(value, (dict, list)) else ():
        yield from (
            places(inner, (*path, key)) if isinstance(inner, (dict, list)) else [(*path, key)]
        )


JUNK = (1, -1, "x", "", True, [], {}, [None], {"a": 1}, float("nan"), float("inf"))


@pytest.mark.parametrize("junk", JUNK, ids=repr)
def test_junk_anywhere_is_refused_as_a_problem_or_does_no_harm(junk):
    whole = copy.deepcopy(GOOD) | {"given": [{"check": GOOD["checks"][0]["id"], "outcome": "no"}]}
    refused = 0
    for path in places(whole):
        changed = copy.deepcopy(whole)
        place = changed
        for key in path[:-1]:
            place = place[key]
        place[path[-1]] = junk
        try:
            policy(changed)([])
        except ProblemError:
            refused += 1
    assert refused > 20
    with pytest.raises(ProblemError, match="a table"):
        policy(junk if not isinstance(junk, dict) else [junk])
