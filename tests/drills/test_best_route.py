"""The best route: the cards' own play, 100 points, paid as rehearsals pay."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from tests.drills.playing import best_moves, made
from tests.faultfinding.problems import problem_of
from tripmargin import drills
from tripmargin.drills import Drill
from tripmargin.drills.best_route import MOST_MOVES
from tripmargin.faultfinding import PROVE_AGAIN, MachineProblem, Rehearser

SEEDS = range(8)
machines = pytest.mark.parametrize("name", ["dunlin", "whimbrel"])


@pytest.fixture(scope="module")
def dunlin() -> MachineProblem:
    return problem_of("dunlin")


@machines
def test_the_best_route_scores_100_when_a_learner_plays_it(name: str) -> None:
    of = problem_of(name)
    for seed in SEEDS:
        drill = drills.drill(of, seed=seed)
        mine = made(of, seed, best_moves(drill))
        assert mine.ended
        assert mine.score().points == 100.0
        assert mine.score().minutes == drill.best.minutes
        assert [part.name for part in mine.score().parts] == ["mended"]
        assert len(drill.best.moves) <= MOST_MOVES
        assert sum(move.do == drills.MEND for move in drill.best.moves) == 1


@machines
def test_the_best_route_knows_nothing_of_the_fault(name: str) -> None:
    # Until two faults' answers differ, their best routes are the same.
    of = problem_of(name)
    found: dict[str, list[Drill]] = {}
    for seed in range(40):
        drill = drills.drill(of, seed=seed)
        found.setdefault(drill.complaint, []).append(drill)
    compared = 0
    for same in found.values():
        for one, two in pairwise(same):
            for a, b in zip(one.best.moves, two.best.moves, strict=False):
                assert (a.do, a.what) == (b.do, b.what)
                compared += 1
                if a.came != b.came:
                    break
    assert compared > 40


@machines
def test_minutes_are_those_that_rehearsals_count(name: str) -> None:
    # the same moves paid by the table of the fault-finding problem, as rehearsals pay them
    of = problem_of(name)
    problem = of.problem
    test = problem.numbers[f"repair:{PROVE_AGAIN}"] - len(problem.checks)
    for seed in SEEDS:
        at, total = problem.start_state, 0.0
        for move in drills.drill(of, seed=seed).best.moves:
            if move.do == drills.LOOK:
                place = problem.states.index(of.questions[move.what].state)
                total += problem.move[at, place] + of.questions[move.what].minutes
                at = place
            elif move.do == drills.MEND:
                work = of.works[move.what]
                price = 60 * work.price / of.checks.price_of_an_hour.nominal
                total += problem.move[at, problem.start_state] + work.minutes + price
                at = problem.start_state
            elif move.do == drills.TEST:
                total += problem.fix_minutes[at, test]
                at = problem.verify_state if move.came == "passed" else problem.start_state
        assert drills.drill(of, seed=seed).best.minutes == pytest.approx(total, rel=1e-12)


def test_a_route_that_finds_cheaper_by_luck_scores_no_more_than_100(dunlin: MachineProblem) -> None:
    drill = drills.drill(dunlin, seed=7)
    mend = next(move.what for move in drill.best.moves if move.do == drills.MEND)
    lucky = made(dunlin, 7, [("mend", mend), ("test", ""), ("done", "")])
    assert lucky.score().minutes < drill.best.minutes
    assert lucky.score().points == 100.0


@machines
def test_the_best_route_costs_about_what_a_rehearsal_costs(name: str) -> None:
    # Rehearsals answer by the same tables, with slips; without any slip in its path the cards' cost
    # of the same fault and complaint is the same, where the daily test fails nowhere.
    of, compared = problem_of(name), 0
    names = [each.id for each in of.hypotheses]
    for seed in SEEDS:
        drill = drills.drill(of, seed=seed)
        if drill.fault.shows < 1:
            continue
        told = of.problem.checks[0].outcomes.index(drill.complaint)
        looks = [(f"check:{e.what}", e.came) for e in drill.best.moves if e.do == drills.LOOK]
        rng = np.random.default_rng(seed)
        for _ in range(12):
            row = names.index(drill.fault.id)
            played = Rehearser(of).play(row, rng, complaint=told)
            if [each for each in played.path[1:] if each[0].startswith("check:")] == looks:
                assert played.minutes == pytest.approx(drill.best.minutes, rel=1e-9)
                compared += 1
                break
    assert compared >= 4
