"""The card's own sums in a real browser, held against the program's room for finding faults."""

from __future__ import annotations

import random
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import pytest

from tripmargin.faultfinding import Case
from tripmargin.faultfinding.cases.case import CLOSED
from tripmargin.faultfinding.cases.case_file import CaseFile
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.machine_problem import ASK, MachineProblem, machine_problem
from tripmargin.machine import load_machine
from tripmargin.reports.card.fault_data import fault_data

CASES = 125  # on each of the four machines
COMPARE = """cases => cases.map(entries => {
    const found = new FaultCase(problem, entries);
    return {
        beliefs: found.moments.map(each => each.situation.belief),
        states: found.moments.map(each => each.situation.state),
        status: found.now.status,
        next: found.next(1).map(each => [card(each.number), each.expected]),
    };
})"""
CARD = """data => {
    globalThis.problem = new Problem(data);
    globalThis.card = number => (number < problem.checks.length
        ? problem.checks[number] : problem.repairs[number - problem.checks.length]).id;
}"""


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Any]:
    """A page with the card's script and no network at all."""
    script = files("tripmargin.reports.card").joinpath("script", "faults.js").read_text("utf-8")
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.add_script_tag(content=script)
    yield page
    context.close()


def _wander(of: MachineProblem, chance: random.Random) -> Case:
    """A case as it may go: looks in any order with what a fault would show, slips, repairs."""
    case = Case.from_file(of, CaseFile.in_memory({}))
    problem, truth = of.problem, chance.choices(range(len(of.hypotheses)), of.problem.prior)[0]
    if chance.random() < 0.9:
        case.record(ASK, chance.choice(list(COMPLAINTS)))
    for _ in range(chance.randrange(9)):
        if case.status == CLOSED:
            break
        if chance.random() < 0.2:
            work = chance.choice([each for each in of.repairs if each.id != "hand over"])
            step = chance.choice([None, *range(1, of.daily_steps + 1)])
            word = chance.choice(["passed", "failed", "failed"])
            case.record(work.id, word, failed_at=step if word == "failed" else None)
            continue
        unused = [k for k in range(1, len(problem.checks)) if not case.situation.used[k]]
        check = chance.choice(unused)
        first, last = problem.columns[check : check + 2]
        word = chance.choices(problem.checks[check].outcomes, problem.likelihood[truth, first:last])
        case.record(problem.checks[check].id.partition(":")[2], word[0])
    return case


def _entries(case: Case) -> list[dict[str, Any]]:
    keys = ("check", "repair", "word", "failed_at")
    return [
        {key: entry[key] for key in keys if entry.get(key) is not None} | {"at": 0}
        for entry in case.entries
    ]


@pytest.mark.parametrize("name", ["dunlin", "curlew", "whimbrel", "sanderling"])
def test_same_beliefs_and_same_next_check_as_the_program(page: Any, name: str) -> None:
    of, chance = machine_problem(load_machine(name)), random.Random(f"card {name}")
    cases = [_wander(of, chance) for _ in range(CASES)]
    page.evaluate(CARD, fault_data(of))
    found = page.evaluate(COMPARE, [_entries(case) for case in cases])
    for case, mine in zip(cases, found, strict=True):
        moments = case.moments()
        assert len(moments) == len(mine["beliefs"])
        for moment, belief, state in zip(moments, mine["beliefs"], mine["states"], strict=True):
            assert belief == pytest.approx(moment.situation.belief.tolist(), rel=0, abs=1e-9)
            assert state == moment.situation.state
        assert mine["status"] == case.status
        cards = [[each.id, each.expected_minutes] for each in case.next_checks(1)]
        assert [each[0] for each in mine["next"]] == [each[0] for each in cards]
        assert [each[1] for each in mine["next"]] == pytest.approx([e[1] for e in cards], rel=1e-9)
