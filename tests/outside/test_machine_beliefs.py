"""Beliefs of cases on the demo machines, against exact inference in a Bayesian network.

pyAgrum (a general library for Bayesian networks, only in the tests) computes the other side by lazy
propagation. Its network is made from a machine's prior and from the chances of its looks. What a
repair leaves is worked out here from what each cause is mended by, not from the problem's own
table, and a daily test is a variable of its own: it shows what its path shows, but for slips.
"""

from __future__ import annotations

import numpy as np
import pyagrum
import pytest

from tests.faultfinding.problems import problem_of
from tripmargin.faultfinding import Case
from tripmargin.faultfinding.suspects.hypotheses import NOTHING, SOMETHING_ELSE
from tripmargin.faultfinding.suspects.machine_problem import ASK, MachineProblem
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN
from tripmargin.machine import demo_machines

machines = pytest.mark.parametrize("name", demo_machines())
CLOSE = 1e-9
SLIP, ELSE_PASSES, ELSE_PASSES_AGAIN = 0.01, 0.2, 0.5
"""Of a daily test that is misread, and of what is not listed: as the explanation gives them."""


def what_is_left(of: MachineProblem, repair: str) -> list[str]:
    """The hypothesis that each becomes by a repair, from the causes that it leaves; all cured is
    'cured'."""
    by_causes = {frozenset(c.id for c in each.causes): each.id for each in of.hypotheses[:-2]}
    mended = set(of.works[repair].mended)
    found = []
    for each in of.hypotheses:
        rest = frozenset(cause.id for cause in each.causes if cause.mended not in mended)
        if each.id == NOTHING:
            found.append("cured" if repair == PROVE_AGAIN else NOTHING)
        elif each.id == SOMETHING_ELSE:
            found.append("cured" if repair == HAND_OVER else SOMETHING_ELSE)
        else:
            found.append(by_causes[rest] if rest else "cured")
    return found


class MachineNetwork:
    """A case on a machine as a Bayesian network, with what was found as its evidence."""

    def __init__(self, of: MachineProblem) -> None:
        self.of, self.network = of, pyagrum.BayesNet()
        self.evidence: dict[str, object] = {}
        self.known = [*(each.id for each in of.hypotheses), "cured"]
        self.now = self._variable(len(self.known))
        self.network.cpt(self.now).fillWith([*of.problem.prior, 0.0])

    def _variable(self, states: int) -> str:
        name = f"v{self.network.size()}"
        self.network.add(pyagrum.RangeVariable(name, name, 0, states - 1))
        return name

    def _child(self, table: np.ndarray) -> str:
        child = self._variable(table.shape[1])
        self.network.addArc(self.now, child)
        self.network.cpt(child)[:] = table
        return child

    def saw(self, check: str, word: str) -> None:
        problem = self.of.problem
        number = problem.numbers[f"check:{check}"]
        rows = problem.likelihood[:, slice(*problem.columns[number : number + 2])]
        # a cured machine is a sound one
        table = np.vstack([rows, rows[self.known.index(NOTHING)]])
        self.evidence[self._child(table)] = problem.checks[number].outcomes.index(word)

    def repaired(self, repair: str, word: str, again: bool = False) -> None:
        numbers = [self.known.index(left) for left in what_is_left(self.of, repair)]
        self.now = self._child(np.eye(len(self.known))[[*numbers, len(self.known) - 1]])
        passes = np.array([*(self._passes(k, again) for k in range(len(self.of.hypotheses))), 1.0])
        fails = np.append(np.maximum(1 - passes[:-1], SLIP), 0.0)
        # soft evidence: the chance of this word with each that may be left
        self.evidence[self.now] = list(passes if word == "passed" else fails)

    def _passes(self, number: int, again: bool) -> float:
        each = self.of.hypotheses[number]
        if each.id == NOTHING:
            return 1.0
        if each.id == SOMETHING_ELSE:
            return ELSE_PASSES_AGAIN if again else ELSE_PASSES
        if not self.of.daily_shows[number]:
            return 1.0
        return SLIP if each.shows == 1 else 1 - each.shows

    def beliefs(self) -> dict[str, float]:
        inference = pyagrum.LazyPropagation(self.network)
        inference.setEvidence(self.evidence)
        inference.makeInference()
        chances = dict(zip(self.known, inference.posterior(self.now).tolist(), strict=True))
        chances[NOTHING] += chances.pop("cured")
        return chances


def furthest_off(case: Case, network: MachineNetwork) -> float:
    found, theirs = case.beliefs(), network.beliefs()
    assert set(found) <= set(theirs)
    return max(abs(found.get(each, 0.0) - chance) for each, chance in theirs.items())


def random_answer(case: Case, fault: int, rng: np.random.Generator) -> tuple[str, str]:
    """A look that was not made yet, and what it may show with a fault, slips among it."""
    problem = case.of.problem
    free = np.flatnonzero(~case.situation.used[1:]) + 1
    number = int(rng.choice(free))
    row = problem.likelihood[fault, slice(*problem.columns[number : number + 2])]
    word = problem.checks[number].outcomes[int(rng.choice(len(row), p=row))]
    return problem.checks[number].id.removeprefix("check:"), word


@machines
@pytest.mark.parametrize("seed", range(3))
def test_beliefs_after_findings_are_the_networks(name, seed):
    # pyAgrum, lazy propagation; a complaint and 12 findings that one random fault gives
    of, rng = problem_of(name), np.random.default_rng([seed, 11])
    case, network = Case(of), MachineNetwork(of)
    fault = int(rng.choice(len(of.hypotheses), p=of.problem.prior))
    complaint = str(rng.choice(of.problem.checks[0].outcomes))
    case.record(ASK, complaint)
    network.saw(ASK, complaint)
    assert furthest_off(case, network) < CLOSE
    for _ in range(12):
        check, word = random_answer(case, fault, rng)
        case.record(check, word)
        network.saw(check, word)
        assert furthest_off(case, network) < CLOSE
    assert len(case.entries) == 13


@machines
@pytest.mark.parametrize("word", ["failed", "passed"])
def test_beliefs_after_repairs_and_daily_tests_are_the_networks(name, word):
    # pyAgrum, lazy propagation; what the repair leaves from the causes' own words
    for seed in range(3):
        of, rng = problem_of(name), np.random.default_rng([seed, 13])
        case, network = Case(of), MachineNetwork(of)
        pairs = [k for k, each in enumerate(of.hypotheses) if len(each.causes) == 2]
        fault = int(rng.choice(pairs))
        for round_ in range(2):
            for _ in range(3):
                check, seen = random_answer(case, fault, rng)
                case.record(check, seen)
                network.saw(check, seen)
            cause = of.hypotheses[fault].causes[round_]
            repair = next(each.id for each in of.repairs if cause.mended in each.mended)
            again = case.status == "proving"
            case.record(repair, word)
            network.repaired(repair, word, again)
            assert furthest_off(case, network) < CLOSE
            if case.status == "closed":
                break
        else:
            check, seen = random_answer(case, fault, rng)
            case.record(check, seen)
            network.saw(check, seen)
            assert furthest_off(case, network) < CLOSE


@machines
def test_beliefs_after_a_test_made_for_nothing_are_the_networks(name):
    of = problem_of(name)
    for word in ("passed", "failed"):
        case, network = Case(of, complaint="stops on nothing"), MachineNetwork(of)
        network.saw(ASK, "stops on nothing")
        case.record(PROVE_AGAIN, word)
        network.repaired(PROVE_AGAIN, word)
        assert furthest_off(case, network) < CLOSE


@machines
def test_the_prior_is_the_rates_over_their_sum(name):
    # elementary; single faults of one strength stand to each other as their rates do
    of = problem_of(name)
    strong = {each.causes[0].strength_of for each in of.hypotheses if len(each.causes) == 1}
    single = [(h, each) for h, each in enumerate(of.hypotheses)
              if each.listed and each.id not in strong and each.causes[0].share == 1.0]  # fmt: skip
    assert len(single) > 40
    rates = np.array([each.causes[0].rate for _, each in single])
    prior = of.problem.prior[[h for h, _ in single]]
    assert prior / prior.sum() == pytest.approx(rates / rates.sum(), rel=1e-9)
    assert of.problem.prior.sum() == pytest.approx(1, abs=1e-12)
