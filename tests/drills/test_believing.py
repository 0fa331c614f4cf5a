"""What the best player believes in a drill: what a case believes after the same entries."""

from __future__ import annotations

import random

import numpy as np
import pytest

from tests.drills.playing import best_moves
from tests.faultfinding.problems import problem_of
from tripmargin import drills
from tripmargin.drills import Drill
from tripmargin.faultfinding import CLOSED, OPEN, PROVING, Case, MachineProblem


@pytest.fixture(scope="module")
def dunlin() -> MachineProblem:
    return problem_of("dunlin")


def same(drill: Drill, case: Case) -> None:
    """The same beliefs, looks left and state, and the same next card."""
    mine, theirs = drill.play.believer, case.situation
    np.testing.assert_allclose(mine.situation.belief, theirs.belief, atol=1e-9)
    assert (mine.situation.used == theirs.used).all()
    assert mine.situation.state == theirs.state
    assert mine.proved() == (case.status == CLOSED)
    if case.status in (OPEN, PROVING):
        card = case.next_checks(1)[0]
        kind, _, name = mine.best().partition(":")
        assert name == card.id
        assert (kind == "check") == (card.kind == "look")


def look(drill: Drill, case: Case, name: str) -> None:
    state = drill.of.questions[name].state
    if drill.of.problem.states[drill.play.at] != state:
        drill.move("go", state)
    case.record(name, drill.move("look", name).came)


def mend(drill: Drill, case: Case, name: str) -> None:
    rest = drill.of.problem.states[drill.of.problem.start_state]
    if drill.of.problem.states[drill.play.at] != rest:
        drill.move("go", rest)
    if name != "prove again":
        drill.move("mend", name)
    word, _, step = drill.move("test").came.partition(" at step ")
    case.record(name, word, failed_at=int(step) if step else None)


def test_beliefs_and_cards_are_those_of_a_case(dunlin: MachineProblem) -> None:
    rng, ends, failures = random.Random(2), set(), 0
    for seed in range(18):
        drill = drills.drill(dunlin, seed=seed)
        case = Case(dunlin, complaint=drill.complaint)
        same(drill, case)
        for _ in range(rng.randrange(6, 14)):
            left = [k for k, used in enumerate(case.situation.used) if not used]
            if rng.random() < 0.7 and left:
                name = dunlin.problem.actions[rng.choice(left)].removeprefix("check:")
                look(drill, case, name)
            else:
                works = [*drills.repairs_of(dunlin), "prove again"]
                mend(drill, case, rng.choice(works))
                failures += case.entries[-1]["word"] == "failed"
            same(drill, case)
            if case.status not in (OPEN, PROVING):
                break
        ends.add(case.status)
    assert failures >= 10
    assert OPEN in ends


def test_the_best_route_follows_a_cases_cards_to_its_end(dunlin: MachineProblem) -> None:
    for seed in range(6):
        drill = drills.drill(dunlin, seed=seed)
        case, moves = Case(dunlin, complaint=drill.complaint), best_moves(drill)
        played: list[tuple[str, str]] = []
        while case.status in (OPEN, PROVING):
            card = case.next_checks(1)[0]
            do = look if card.kind == "look" else mend
            do(drill, case, card.id)
            played.append((drill.play.moves[-1].do, card.id))
        drill.move("done")
        assert [(move.do, move.what) for move in drill.play.moves] == moves
        assert case.status == CLOSED


def test_a_look_between_a_repair_and_its_test_counts(dunlin: MachineProblem) -> None:
    drill = drills.drill(dunlin, seed=7)  # X1: nothing lights
    drill.move("mend", "X1")
    before = drill.play.believer.situation.belief[dunlin.nothing]
    drill.move("go", "tractor's key on")
    assert drill.move("look", "plug on the drawbar").came == "more than 11.8 V"
    after = drill.play.believer.situation.belief[dunlin.nothing]
    assert after > before
    assert drill.move("test").came == "passed"
    assert drill.play.believer.situation.belief[dunlin.nothing] > after
    assert drill.play.believer.situation.belief.sum() == pytest.approx(1, abs=1e-12)
