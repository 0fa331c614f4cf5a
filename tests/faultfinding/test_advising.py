"""What is held back: a module at a chance nobody would defend, a test that could only pass."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.faultfinding.problems import number, problem_of
from tripmargin.faultfinding import OPEN, PROVING, Case
from tripmargin.faultfinding.cases.advising import SLIGHT, SURE, Adviser
from tripmargin.faultfinding.cases.proof_steps import worth
from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.deciding.index import Crowd, Scales
from tripmargin.faultfinding.deciding.policy import Policy
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.rehearsals.rehearsing import Rehearser, drawn
from tripmargin.faultfinding.suspects.hypotheses import NOTHING
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN
from tripmargin.machine import demo_machines

machines = pytest.mark.parametrize("name", demo_machines())


def believing(of, chances):
    belief = np.zeros(len(of.hypotheses))
    for fault, chance in chances.items():
        belief[number(of, fault)] = chance
    assert belief.sum() == pytest.approx(1)
    used = np.zeros(len(of.problem.checks), bool)
    used[0] = True
    return Situation(belief, used, of.problem.start_state)


def telling(of, situation):
    """Looks that could still tell something, by the index's own scales."""
    crowd = Crowd(situation.belief[None], situation.used[None],
                  np.array([situation.state]), np.ones(1))  # fmt: skip
    found = Scales(of.problem).weigh(crowd).information[0, : len(of.problem.checks)]
    return (found > 1e-9) & ~situation.used


@machines
def test_no_module_is_proposed_below_the_chance_asked_for_while_a_look_can_tell(name):
    of, rng = problem_of(name), np.random.default_rng(21)
    for complaint in ("feed stays stopped", "metal went through", "stops on nothing"):
        for _ in range(4):
            case = Case(of, complaint=complaint)
            fault = int(rng.choice(len(of.hypotheses) - 2))
            for _ in range(25):
                if case.status not in (OPEN, PROVING):
                    break
                card = case.next_checks(1)[0]
                if card.module and telling(of, case.situation).any():
                    assert card.chance >= SURE
                if card.kind != "look":
                    break
                check = of.problem.numbers[f"check:{card.id}"]
                row = of.problem.likelihood[fault, slice(*of.problem.columns[check : check + 2])]
                word = of.problem.checks[check].outcomes[int(rng.choice(len(row), p=row))]
                case.record(card.id, word)


@pytest.mark.parametrize(("chance", "module"), [(0.89, False), (0.9995, True)])
def test_a_module_comes_first_only_above_the_chance_asked_for(chance, module):
    of = problem_of("whimbrel")
    situation = believing(of, {"D.out.trip_out:never": chance, "W3:open": 1 - chance})
    (first,) = Adviser(of).actions(situation, 1, proving=False)
    assert (first.action == "repair:mend D") == module
    assert first.action.startswith("repair:mend D" if module else "check:")


def test_a_module_is_proposed_below_it_where_no_look_can_tell_any_more():
    of = problem_of("whimbrel")
    situation = believing(of, {"D.out.trip_out:never": 0.6, "W3:open": 0.4})
    deaf = replace(situation, used=np.ones(len(of.problem.checks), bool))
    assert not telling(of, deaf).any()
    found = [each.action for each in Adviser(of).actions(deaf, 5, proving=False)]
    assert {"repair:mend D", "repair:mend W3"} <= set(found)


def test_the_policy_alone_proposes_modules_that_are_held_back_here():
    # else the tests above would prove nothing
    of = problem_of("whimbrel")
    plain, held, rash = Policy(of.problem, "index"), Adviser(of), []

    def choose(situation, proving):
        best = held.best(situation, proving=proving)
        if not proving:
            action = int(plain.plan(situation).actions[0])
            repair = action - len(of.problem.checks)
            if repair >= 0 and of.repairs[repair].module and telling(of, situation).any():
                chance = float(situation.belief[of.problem.left[repair] == CURED].sum())
                if chance < SURE:
                    rash.append(action)
                    assert best != action
        return best

    rehearser, rng = Rehearser(of), np.random.default_rng(3)
    for fault in drawn(of, 400, rng):
        rehearser.play(int(fault), rng, choose)
        if rash:
            break
    assert rash


@machines
def test_the_daily_test_is_not_proposed_where_it_could_only_pass(name):
    of = problem_of(name)
    again = of.problem.numbers[f"repair:{PROVE_AGAIN}"]
    situation = believing(of, {NOTHING: 0.5, "clearance_wide": 0.5})
    assert worth(of, situation, again) == pytest.approx(0, abs=1e-12)
    adviser = Adviser(of)
    assert adviser.best(situation, proving=False) != again
    named = [each.action for each in adviser.actions(situation, 5, proving=False)]
    assert f"repair:{PROVE_AGAIN}" not in named


@machines
def test_the_daily_test_may_be_proposed_where_it_tells(name):
    of = problem_of(name)
    fault = next(h.id for k, h in enumerate(of.hypotheses) if len(h.causes) == 1
                 and of.daily_shows[k] and h.shows == 1)  # fmt: skip
    again = of.problem.numbers[f"repair:{PROVE_AGAIN}"]
    situation = believing(of, {NOTHING: 0.5, fault: 0.5})
    deaf = replace(situation, used=np.ones(len(of.problem.checks), bool))
    assert worth(of, deaf, again) > SLIGHT
    named = [each.action for each in Adviser(of).actions(deaf, 5, proving=False)]
    assert f"repair:{PROVE_AGAIN}" in named


@machines
def test_the_best_is_the_first_of_the_actions(name):
    of, rng = problem_of(name), np.random.default_rng(2)
    adviser = Adviser(of)
    for complaint in ("dead", "metal went through", "lamp or buzzer wrong"):
        case = Case(of, complaint=complaint)
        for _ in range(4):
            proving = case.status == PROVING
            first = adviser.actions(case.situation, 1, proving=proving)[0]
            best = adviser.best(case.situation, proving=proving)
            assert of.problem.actions[best] == first.action
            if first.action.startswith("repair:"):
                break
            card = case.next_checks(1)[0]
            case.record(card.id, str(rng.choice([each.word for each in card.answers])))


@machines
def test_while_proving_only_what_tells_whether_the_machine_is_sound_is_proposed(name):
    of = problem_of(name)
    situation = believing(of, {NOTHING: 0.9, "clearance_wide": 0.1})
    for each in Adviser(of).actions(situation, 4, proving=True):
        k = of.problem.numbers[each.action]
        assert worth(of, situation, k) > 0
        assert each.action.startswith("check:") or each.action == f"repair:{PROVE_AGAIN}"
    certain = believing(of, {NOTHING: 1.0})
    (last,) = Adviser(of).actions(certain, 4, proving=True)
    assert last.action == f"repair:{HAND_OVER}"
