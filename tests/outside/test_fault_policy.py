"""The choice of the next check against values and programs from elsewhere.

The exact optima come from a program of another make (plain recursion over beliefs, standard
library) that also gives any policy's exact expected cost. The rest are textbook and published
examples, the source beside each.
"""

from __future__ import annotations

import importlib.util
import itertools
import math
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from tests.outside.small_problems import check, fault, one_state
from tests.reference import reference_cases, reference_path
from tripmargin.faultfinding import Problem, next_actions, policy, situation_after
from tripmargin.faultfinding.deciding import lookahead, planning
from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem

CASES = reference_cases("faults/instances_open.json")["instances"]
METHODS = ("best", "look-ahead", "index")
KINDS = {
    "noise-free": Recipe(8, 9, swaps=1),
    "dear checks": Recipe(8, 9, swaps=1, dear=5),
    "noisy": Recipe(5, 5, slips=True, swaps=1),
    "noisy and dear": Recipe(5, 5, slips=True, swaps=1, dear=4),
    "cannot tell": Recipe(4, 5, slips=True, cannot_tell=0.04),
    "pairs": Recipe(4, 6, pairs=0.03),
    "noisy pairs": Recipe(3, 4, pairs=0.1, slips=True, swaps=1),
    "something else": Recipe(4, 5, slips=True, other=True, swaps=1),
}


def oracle() -> ModuleType:
    path = reference_path("faults/oracle.py")
    spec = importlib.util.spec_from_file_location("fault_oracle", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


ORACLE = oracle()


def ratio(instance: dict[str, Any], optimum: float, method: Any) -> float:
    return ORACLE.Instance(instance).evaluate(policy(instance, method=method)) / optimum


@pytest.fixture(scope="module")
def open_ratios() -> dict[str, list[float]]:
    return {
        method: [ratio(case, case["optimal_expected_cost"], method) for case in CASES]
        for method in METHODS
    }


@pytest.fixture(scope="module")
def further_ratios() -> dict[str, list[float]]:
    """Forty further problems of the same kinds, solved here by the reference program."""
    ratios: dict[str, list[float]] = {method: [] for method in METHODS}
    for recipe, seed in itertools.product(KINDS.values(), range(2000, 2005)):
        instance = made_up_problem(recipe, seed) | {"id": "made up"}
        optimum = ORACLE.Instance(instance).optimum()
        for method in METHODS:
            ratios[method].append(ratio(instance, optimum, method))
    return ratios


def test_the_open_cases_cost_what_is_possible_at_all(open_ratios):
    # shared/ref/faults; asked: mean at most 1.005, never over 1.03; also without exact solution
    assert max(open_ratios["best"]) == pytest.approx(1.0, abs=1e-9)
    assert np.mean(open_ratios["look-ahead"]) <= 1.0002
    assert max(open_ratios["look-ahead"]) <= 1.002
    assert np.mean(open_ratios["index"]) <= 1.005
    assert max(open_ratios["index"]) <= 1.03
    assert min(min(ratios) for ratios in open_ratios.values()) >= 1 - 1e-9


@pytest.mark.slow
def test_further_cases_cost_what_is_possible_at_all(further_ratios):
    assert max(further_ratios["best"]) == pytest.approx(1.0, abs=1e-9)
    assert np.mean(further_ratios["look-ahead"]) <= 1.0005
    assert max(further_ratios["look-ahead"]) <= 1.01
    assert np.mean(further_ratios["index"]) <= 1.01
    assert min(min(ratios) for ratios in further_ratios.values()) >= 1 - 1e-9


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_beliefs_first_actions_and_costs_are_the_reference_program_s(case):
    probe = case["posterior_probe"]
    problem = Problem.from_dict(case)
    belief = situation_after(problem, [tuple(entry) for entry in probe["history"]]).belief
    found = dict(zip(problem.hypotheses, belief, strict=True))
    for name, chance in found.items():
        assert chance == pytest.approx(probe["posterior"].get(name, 0.0), abs=1e-12)
    best = next_actions(case, [], n=100)
    assert best[0].found_by == "exact"
    assert best[0].action in case["optimal_first_actions"]
    assert best[0].expected_minutes == pytest.approx(case["optimal_expected_cost"], rel=1e-9)
    tied = len(case["optimal_first_actions"])
    second = pytest.approx(case["second_best_first_action_cost"], rel=1e-9)
    assert best[tied].expected_minutes == second


@pytest.mark.parametrize("method", METHODS)
def test_repairs_alone_go_by_chance_over_cost(method):
    # CHECKS 7.4: Kadane & Simon 1977; Kalagnanam & Henrion 1990. Order 1, 5 (tie), 2, 3, 4: 5.85
    chances, minutes = (0.20, 0.25, 0.40, 0.05, 0.10), (1.0, 3.0, 5.0, 2.0, 0.5)
    faults = [fault(str(k), p, c) for k, (p, c) in enumerate(zip(chances, minutes, strict=True), 1)]
    problem = one_state(faults, [])
    choose, history = policy(problem, method=method), []
    while len(history) < 5:
        history.append((choose(history), "failed"))
        if len(history) == 5:
            break
    order = [name.removeprefix("repair:") for name, _ in history]
    assert order in (["1", "5", "2", "3", "4"], ["5", "1", "2", "3", "4"])
    assert ORACLE.Instance(problem).evaluate(choose) == pytest.approx(5.85, abs=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_repairs_alone_are_never_dearer_than_the_best_of_all_orders(seed):
    rng = np.random.default_rng(seed)
    chances, minutes = rng.dirichlet(np.ones(5)), rng.uniform(1, 50, 5)
    problem = one_state([fault(str(k), chances[k], minutes[k]) for k in range(5)], [])
    orders = np.array(list(itertools.permutations(range(5))))
    left = 1 - np.cumsum(chances[orders], axis=1) + chances[orders]
    least = (left * minutes[orders]).sum(axis=1).min()
    for method in METHODS:
        cost = ORACLE.Instance(problem).evaluate(policy(problem, method=method))
        assert cost == pytest.approx(least, rel=1e-9)


def test_chance_over_cost_is_not_optimal_when_the_machine_must_be_moved():
    # CHECKS 7.5: Jensen et al. 2001, Ottosen & Jensen 2010 say so; the numbers are ours, by hand.
    # A and B are mended with a cover off, C with it on, all are proved with it off; taking it off
    # costs 10. Minutes over chance: A 17 / 0.5 = 34 before C 11 / 0.3 = 36.7, but
    # A, C, B: 17 + 0.5 x 11 + 0.2 x 8 = 24.1, and C, A, B: 11 + 0.7 x 7 + 0.2 x 8 = 17.5.
    problem = one_state([fault("A", 0.5, 7.0), fault("B", 0.2, 8.0), fault("C", 0.3, 1.0)], [])
    problem |= {"states": ["s", "off"], "state_change_minutes": [[0.0, 10.0], [0.0, 0.0]]}
    problem["verify"]["state"] = "off"
    for place in (0, 1):
        problem["faults"][place]["repair_state"] = "off"
    instance = ORACLE.Instance(problem)
    assert instance.evaluate(policy(problem)) == pytest.approx(17.5, abs=1e-9)
    assert instance.evaluate(policy(problem, method="look-ahead")) == pytest.approx(17.5, abs=1e-9)
    assert instance.evaluate(policy(problem, method="index")) == pytest.approx(24.1, abs=1e-9)


STATES = {"s0": 0.70, "s1": 0.01, "s2": 0.02, "s3": 0.10, "s4": 0.05, "s5": 0.12}
SHOWS = ("00000", "01001", "00110", "10011", "11000", "11110")
DEAR = 1000.0
"""A repair so dear that it pays to be sure first: then only the tests' minutes differ."""


def sequencing() -> dict[str, Any]:
    checks = [
        check(
            f"t{k + 1}",
            {
                name: [0.0, 1.0] if row[k] == "1" else [1.0, 0.0]
                for name, row in zip(STATES, SHOWS, strict=True)
            },
            ["pass", "fail"],
        )
        for k in range(5)
    ]
    return one_state([fault(name, p, DEAR) for name, p in STATES.items()], checks)


@pytest.mark.parametrize("method", ["best", "look-ahead"])
def test_the_published_test_sequence_is_found(method):
    # CHECKS 7.6: Pattipati & Alexandridis, IEEE SMC 20 (1990) 872: 2.18, t2 first, then t4 or t3
    problem = sequencing()
    choose = policy(problem, method=method)
    cost = ORACLE.Instance(problem).evaluate(choose) - DEAR
    assert cost == pytest.approx(2.18, abs=1e-9)
    first = {
        action.action: action.expected_minutes - DEAR for action in choose.next_actions([], n=100)
    }
    assert first["check:t2"] == pytest.approx(2.18, abs=1e-9)  # t4 first, then t2, costs the same
    assert min(first.values()) == pytest.approx(2.18, abs=1e-9)
    assert choose([("check:t2", "pass")]) == "check:t4"
    assert choose([("check:t2", "fail")]) == "check:t3"


def test_greedy_information_is_dearer_than_the_published_sequence():
    # CHECKS 7.6: greedy information gain starts with t1 and costs 2.86. All tests cost the same, so
    # the bare index is that greedy rule here: the example for which it needs to look ahead.
    problem = sequencing()
    read = Problem.from_dict(problem)

    def doubt(leaves: dict[str, float]) -> float:
        return -sum(x * math.log(x) for x in leaves.values())

    def greedy(history: list) -> str:
        actions = next_actions(read, history, n=100)
        tests = [action for action in actions if action.action.startswith("check:")]
        if not tests:
            return actions[0].action
        left = {
            action.action: sum(result.chance * doubt(result.leaves) for result in action.results)
            for action in tests
        }
        return min(sorted(left), key=left.__getitem__)

    instance = ORACLE.Instance(problem)
    assert greedy([]) == "check:t1"
    assert instance.evaluate(greedy) - DEAR == pytest.approx(2.86, abs=1e-9)
    index = instance.evaluate(policy(problem, method="index")) - DEAR
    assert index == pytest.approx(2.86, abs=1e-9)


def test_the_worth_of_a_test_is_the_wildcatter_s():
    # CHECKS 7.9: Raiffa 1968. Drill pays -70, 50, 200; no test 20; free test 32.5; knowing 35 more
    prior = {"dry": 0.5, "wet": 0.3, "soak": 0.2}
    pay = {"dry": -70.0, "wet": 50.0, "soak": 200.0}
    rows = {"dry": [0.6, 0.3, 0.1], "wet": [0.3, 0.4, 0.3], "soak": [0.1, 0.4, 0.5]}
    problem = one_state([fault(s, p, 100.0) for s, p in prior.items()], [])
    problem["checks"] = [check("echo", rows, ["N", "O", "C"], minutes=0.1)]

    def worth(belief: dict[str, float]) -> float:
        return max(0.0, sum(chance * pay[state] for state, chance in belief.items()))

    echo = next(a for a in next_actions(problem, [], n=9) if a.action == "check:echo")
    tested = sum(result.chance * worth(result.leaves) for result in echo.results)
    assert worth(prior) == pytest.approx(20.0, abs=1e-9)
    assert tested == pytest.approx(32.5, abs=1e-9)
    assert tested - worth(prior) == pytest.approx(12.5, abs=1e-9)
    known = sum(p * worth({state: 1.0}) for state, p in prior.items())
    assert known - worth(prior) == pytest.approx(35.0, abs=1e-9)


def test_sixty_faults_and_their_pairs_get_an_answer_within_the_work_allowed(monkeypatch):
    # asked: 60 faults and their pairs, 50 checks, 6 states; benchmarks/next_check.py takes the time
    recipe = Recipe(60, 50, states=6, slips=True, pairs=0.0005, swaps=6)
    problem = Problem.from_dict(made_up_problem(recipe, seed=1))
    assert len(problem.hypotheses) == 60 + 60 * 59 // 2
    tried: list[tuple[int, bool]] = []  # actions followed, and whether an answer came of it
    followed: list[int] = []
    branches, look_ahead = lookahead.branches, planning.look_ahead

    def counted(scales: Any, crowd: Any, chosen: Any) -> Any:
        followed.append(int((chosen >= 0).sum()))
        return branches(scales, crowd, chosen)

    def looked(scales: Any, root: Any, effort: Any) -> Any:
        followed.clear()
        found = look_ahead(scales, root, effort)
        tried.append((sum(followed), found is not None))
        return found

    monkeypatch.setattr(lookahead, "branches", counted)
    monkeypatch.setattr(planning, "look_ahead", looked)
    choose = policy(problem)
    plan = choose.plan(situation_after(problem, []))
    assert choose([]) == problem.actions[int(plan.actions[0])]
    assert choose([]).split(":")[0] in ("check", "repair", "swap")
    assert np.isfinite(plan.minutes).all()
    allowed = planning.NEAR_WORK // (20 + planning.KEPT)  # actions followed, for a near look
    assert [answered for _, answered in tried] == [False] * (len(tried) - 1) + [True]
    assert max(work for work, _ in tried) <= allowed
