"""The fault chart: chances add up, repairs are the policy's, and following it mends the machine."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from tests.faultfinding.charting import chart_of, problem_of
from tripmargin import load_machine
from tripmargin.faultfinding import ASK, COMPLAINTS, PROVE_AGAIN, Policy, ProblemError, chart
from tripmargin.faultfinding.cases.proving import pass_chances
from tripmargin.faultfinding.charts.alike import alike
from tripmargin.faultfinding.charts.chart_tree import ANYTHING_ELSE, PROVED, TOOL
from tripmargin.faultfinding.deciding.beliefs import Situation, observed, unhelped
from tripmargin.faultfinding.deciding.problem import CURED


def test_every_complaint_that_a_fault_gives_rise_to_has_its_steps():
    assert [each.complaint for each in chart_of().complaints] == list(COMPLAINTS)
    assert "will not reverse" not in [each.complaint for each in chart_of("dunlin").complaints]
    assert all(each.steps for each in chart_of().complaints)
    assert sum(each.share for each in chart_of().complaints) == pytest.approx(1.0)


@pytest.mark.parametrize("complaint", list(COMPLAINTS))
def test_the_chances_of_a_steps_branches_sum_to_what_comes_in(complaint):
    steps = chart_of().of(complaint).steps
    into = {steps[0].id: 1.0}
    for step in steps:
        assert sum(branch.chance for branch in step.branches) == pytest.approx(1.0, abs=1e-9)
        for branch in step.branches:
            if branch.to is not None:
                into[branch.to] = into.get(branch.to, 0.0) + step.chance * branch.chance
    assert {step.id: step.chance for step in steps} == pytest.approx(into, abs=1e-9)


@pytest.mark.parametrize("complaint", list(COMPLAINTS))
def test_the_numbers_run_from_1_and_every_branch_leads_somewhere(complaint):
    steps = chart_of().of(complaint).steps
    assert [step.id for step in steps] == list(range(1, len(steps) + 1))
    for step in steps:
        for branch in step.branches:
            assert (branch.to is None) == (branch.end in (PROVED, TOOL))
            assert branch.to is None or 1 <= branch.to <= len(steps)


def asked(of, situation):
    """A situation in which the operator is not asked again."""
    used = situation.used.copy()
    used[of.problem.numbers[f"check:{ASK}"]] = True
    return replace(situation, used=used)


def told(of, complaint):
    problem = of.problem
    start = Situation(problem.prior, np.zeros(len(problem.checks), bool), problem.start_state)
    number = problem.numbers[f"check:{ASK}"]
    return observed(problem, start, number, problem.checks[number].outcomes.index(complaint))


@pytest.mark.parametrize("complaint", ["feed stays stopped", "metal went through"])
def test_every_step_is_the_policys_next_action_there(complaint):
    of, found = problem_of(), chart_of().of(complaint)
    policy, problem = Policy(of.problem, "index"), of.problem
    waiting, seen = [(1, told(of, complaint))], set()
    while waiting:
        number, situation = waiting.pop()
        step = found.steps[number - 1]
        seen.add(number)
        kind = "check" if step.kind == "look" else "repair"
        action = problem.numbers[f"{kind}:{step.action}"]
        assert int(policy.plan(situation).actions[0]) == action
        for branch in step.branches:
            if branch.to is None:
                continue
            if kind == "repair":
                later = asked(of, unhelped(problem, situation, action - len(problem.checks)))
                later = replace(later, state=problem.start_state)  # as a case takes it
            else:
                word = problem.checks[action].outcomes.index(branch.word)
                later = observed(problem, situation, action, word)
            waiting.append((branch.to, later))
    assert seen == {step.id for step in found.steps}


@pytest.mark.parametrize("complaint", ["feed stays stopped", "dead", "lamp or buzzer wrong"])
def test_following_the_answers_without_slips_mends_at_least_the_share_that_it_claims(complaint):
    of, found = problem_of(), chart_of().of(complaint)
    rng, problem = np.random.default_rng(7), of.problem
    weight = told(of, complaint).belief
    count = 3000
    broken = rng.choice(len(weight), size=count, p=weight)
    share = np.mean([mended(of, found.steps, int(h), rng) for h in broken])
    error = 3 * np.sqrt(0.25 / count)
    assert share == pytest.approx(found.leads_without_slips, abs=error)
    assert share >= found.leads
    assert problem.left.shape[1] == len(weight)


def mended(of, steps, hypothesis, rng):
    """Whether following the chart ends with a repair that cures, every look read rightly."""
    problem, passes = of.problem, pass_chances(of)
    number = 1
    while number is not None:
        step = steps[number - 1]
        if step.kind == "look":
            word = shown_word(of, step, hypothesis, rng)
        else:
            left = problem.left[problem.numbers[f"repair:{step.action}"] - len(problem.checks)]
            if left[hypothesis] == CURED:
                return True
            hypothesis = int(left[hypothesis])
            if rng.random() < passes[hypothesis]:
                return False
            word = "failed"
        branch = next(each for each in step.branches if each.word == word)
        number = branch.to
    return False


def shown_word(of, step, hypothesis, rng):
    look = next(each for each in of.looks if each.question.id == step.action)
    fault = of.hypotheses[hypothesis]
    if not fault.causes and hypothesis != of.nothing:  # not listed: any word, as the model has it
        first = of.problem.columns[of.problem.numbers[f"check:{step.action}"]]
        chance = of.problem.likelihood[hypothesis, first : first + len(look.question.words)]
        return look.question.words[rng.choice(len(chance), p=chance / chance.sum())]
    there = rng.random() < fault.shows
    return look.question.words[look.answers[hypothesis] if there else 0]


def test_a_repair_says_its_chance_price_and_whether_it_is_a_module():
    steps = [step for each in chart_of().complaints for step in each.steps]
    repairs = [step for step in steps if step.kind == "repair"]
    works = problem_of().works
    assert repairs
    assert all(0 < step.cure <= 1 and step.price == works[step.action].price for step in repairs)
    assert {step.action for step in repairs if step.module} <= {
        name for name, work in works.items() if work.module
    }
    assert any(step.module for step in repairs)


def test_every_step_opens_with_cautions_and_ends_in_the_daily_test():
    for each in chart_of().complaints:
        for step in each.steps:
            assert step.cautions
            if step.kind != "look":
                assert {branch.word for branch in step.branches} == {"passed", "failed"}
            else:
                assert step.branches[-1].word == ANYTHING_ELSE


def test_what_the_daily_test_leaves_open_is_asked_for_after_the_repair():
    of = problem_of()
    steps = [step for each in chart_of().complaints for step in each.steps]
    follow = {name for step in steps for name in step.also}
    assert follow
    assert follow <= {*of.questions, PROVE_AGAIN}


def test_a_smaller_least_share_covers_more_cases_with_more_steps():
    of = problem_of()
    coarse, fine = (chart(of, complaints=["dead"], least=x).of("dead") for x in (0.02, 0.001))
    assert len(fine.steps) > len(coarse.steps)
    assert fine.leads >= coarse.leads
    assert fine.leads_without_slips >= coarse.leads_without_slips


def test_a_chart_that_leaves_everything_to_the_tool_has_no_steps():
    found = chart(problem_of(), complaints=["dead"], least=0.9).of("dead")
    assert found.steps == ()
    assert found.leads == 0


def test_an_unknown_complaint_and_a_share_that_is_none_are_refused():
    with pytest.raises(ProblemError, match="no such complaint"):
        chart(problem_of(), complaints=["it smells"])
    with pytest.raises(ProblemError, match="share of cases"):
        chart(problem_of(), least=0.0)
    with pytest.raises(ProblemError, match="does not have it"):
        chart_of().of("it smells")


def test_the_chart_is_plain_json_with_every_step():
    made = json.loads(json.dumps(chart_of().to_dict()))
    assert made["machine_name"] == "Whimbrel"
    assert len(made["complaints"][0]["steps"]) == len(chart_of().complaints[0].steps)


def test_another_lamp_changes_the_chart():
    machine = load_machine("whimbrel")
    circuit = machine.circuit
    parts = tuple(part for part in circuit.parts if part.name != "hold powered")
    other = replace(machine, circuit=replace(circuit, parts=parts))
    found = chart(other, complaints=["feed stays stopped"]).of("feed stays stopped")
    ours = chart_of().of("feed stays stopped")
    assert any("hold powered" in step.action for step in ours.steps)
    assert not any("hold powered" in step.action for step in found.steps)


def test_faults_that_look_alike_give_equal_answers_in_every_look_and_others_do_not():
    of = problem_of()
    signs = {
        each.id: tuple(look.answers[k] for look in of.looks)
        for k, each in enumerate(of.hypotheses)
        if each.listed
    }
    groups = {}
    for name, answers in signs.items():
        if any(answers):
            groups.setdefault(answers, set()).add(name)
    brute = {frozenset(group) for group in groups.values() if len(group) > 1}
    found = alike(of)
    assert {frozenset(group.faults) for group in found.groups} == brute
    assert 0 < found.isolated[1] <= found.isolated[2] <= found.isolated[3] <= found.detected < 1


def test_a_group_with_one_repair_says_so():
    of = problem_of()
    for group in alike(of).groups:
        mended = {c.mended for h in of.hypotheses if h.id in group.faults for c in h.causes}
        works = {work.id for work in of.repairs if mended & set(work.mended)}
        assert set(group.repairs) == works
        assert group.one_repair == (len(works) == 1)
