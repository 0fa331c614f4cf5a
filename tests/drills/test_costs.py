"""What costs: unsafe moves always, wrong modules, hints, minutes."""

from __future__ import annotations

import random

import pytest

from tests.drills.playing import best_moves, made, random_play
from tests.faultfinding.problems import problem_of
from tripmargin import drills
from tripmargin.drills import Drill, DrillError
from tripmargin.drills.scoring import HINT_LEAVES, UNSAFE_LEAVES, WRONG_MODULE_LEAVES
from tripmargin.faultfinding import MachineProblem
from tripmargin.faultfinding.cases.cards import seen_from_the_seat
from tripmargin.faultfinding.cases.cautions import AT_REST, LIVE


@pytest.fixture(scope="module")
def dunlin() -> MachineProblem:
    return problem_of("dunlin")


def unsafe_from(of: MachineProblem, at: int, rng: random.Random) -> list[tuple[str, str]]:
    """Unsafe moves from a state."""
    here = of.states[at]
    if not (here.live or here.running):
        return []
    hands = [name for name, each in of.questions.items() if not seen_from_the_seat(of, each)
             and each.state == of.problem.states[of.problem.start_state]]  # fmt: skip
    return [("look", rng.choice(hands)), ("mend", rng.choice(list(drills.repairs_of(of))))]


def test_an_unsafe_move_added_to_any_play_takes_from_its_score(dunlin: MachineProblem) -> None:
    rng, compared, ends = random.Random(1), 0, set()
    for seed in range(90):
        drill = drills.drill(dunlin, seed=seed % 30)
        random_play(drill, rng)
        moves = [(move.do, move.what) for move in drill.play.moves]
        before = drill.score()
        ends.add(before.parts[0].name)
        place = rng.randrange(len(moves))
        again = made(dunlin, seed % 30, moves[:place])
        added = unsafe_from(dunlin, again.play.at, rng)
        if again.play.believer.tested is None:
            added.append(("done", ""))
        for do, what in added[:1] if rng.random() < 0.5 else added[-1:]:
            move = again.move(do, what)
            assert move.unsafe
            assert move.minutes == 0
            for each in moves[place:]:
                again.move(*each)
            after = again.score()
            assert after.points == pytest.approx(before.points * UNSAFE_LEAVES, rel=1e-12)
            assert after.points < before.points
            assert after.points <= 70
            compared += 1
    assert compared > 50
    assert ends == {"mended", "not mended", "handed over"}


def test_what_is_refused_changes_nothing_on_the_machine(dunlin: MachineProblem) -> None:
    drill = drills.drill(dunlin, seed=7)
    drill.move("go", "tractor's key on")
    before = (drill.play.machine.now, drill.play.machine.mends, drill.play.at, drill.play.minutes)
    for do, what in (("mend", "X1"), ("look", "standing: fuse F1"), ("done", "")):
        assert drill.move(do, what).unsafe
    now = (drill.play.machine.now, drill.play.machine.mends, drill.play.at, drill.play.minutes)
    assert now == before
    assert not drill.ended


def test_the_caution_that_is_broken_is_said(dunlin: MachineProblem) -> None:
    drill = drills.drill(dunlin, seed=7)
    drill.move("go", "box armed")
    assert drill.move("look", "standing: pawl springs").caution == " ".join(AT_REST)
    assert drill.move("mend", "W3").caution == " ".join(AT_REST)
    drill.move("go", "rolls turning")
    assert drill.move("look", "box armed: module's supply").caution == " ".join(LIVE)
    assert "daily test" in drill.move("done").caution


def test_lamps_from_the_seat_and_looks_of_another_state_are_told_not_scored(
    dunlin: MachineProblem,
) -> None:
    drill = drills.drill(dunlin, seed=7)
    drill.move("go", "rolls turning")
    with pytest.raises(DrillError, match='the machine is in "rolls turning"'):
        drill.move("look", "box armed: trip latched")
    drill.move("go", "standing")
    with pytest.raises(DrillError, match="First: go box armed"):
        drill.move("look", "box armed: module's supply")
    assert [move.do for move in drill.play.moves] == ["go", "go"]


def test_a_test_that_failed_or_is_older_than_the_repair_proves_nothing(
    dunlin: MachineProblem,
) -> None:
    drill = drills.drill(dunlin, seed=7)  # X1: the daily test shows it
    assert drill.move("test").came.startswith("failed")
    assert drill.move("done").unsafe
    mend = next(move.what for move in drill.best.moves if move.do == drills.MEND)
    drill.move("mend", mend)
    assert drill.move("test").came == "passed"
    drill.move("go", "standing")
    drill.move("mend", "F1")
    assert drill.move("done").unsafe
    drill.move("test")
    assert not drill.move("done").unsafe
    assert drill.ended


def test_a_wrong_module_costs_more_than_its_price(dunlin: MachineProblem) -> None:
    drill = drills.drill(dunlin, seed=7)
    moves = best_moves(drill)
    wrong = made(dunlin, 7, [("mend", "K1"), *moves])
    parts = {part.name: part.points for part in wrong.score().parts}
    assert parts["wrong module"] < 0
    assert wrong.score().points == pytest.approx(
        (100 + parts["cost"]) * WRONG_MODULE_LEAVES, rel=1e-12
    )
    part = made(dunlin, 7, [("mend", "R1"), *moves]).score()
    assert "wrong module" not in [each.name for each in part.parts]


def test_hints_cost_each_and_lead_to_the_end(dunlin: MachineProblem) -> None:
    for seed in (2, 7):
        drill = drills.drill(dunlin, seed=seed)
        hints = 0
        while not drill.ended:
            hint = drill.move("hint")
            hints += 1
            if hint.came == drills.LOOK:
                _go_to(drill, drill.of.questions[hint.what].state)
            elif hint.came == drills.MEND:
                _go_to(drill, "standing")
            drill.move(hint.came, hint.what)
        assert drill.play.minutes == pytest.approx(drill.best.minutes)
        assert drill.score().points == pytest.approx(100 * HINT_LEAVES**hints)


def _go_to(drill: Drill, state: str) -> None:
    if drill.of.problem.states[drill.play.at] != state:
        drill.move("go", state)


def test_not_mended_brings_few_points_and_handing_over_a_few_more(dunlin: MachineProblem) -> None:
    weak = next(
        seed
        for seed in range(60)
        if not dunlin.daily_shows[
            [each.id for each in dunlin.hypotheses].index(drills.drill(dunlin, seed=seed).fault.id)
        ]
    )
    left = made(dunlin, weak, [("test", ""), ("done", "")]).score()
    given = made(dunlin, weak, [("hand over", "")]).score()
    assert 0 < left.points < given.points <= 10


def test_the_parts_add_up_to_the_score(dunlin: MachineProblem) -> None:
    rng = random.Random(3)
    for seed in range(25):
        drill = drills.drill(dunlin, seed=seed)
        drill.move("hint")
        random_play(drill, rng)
        score = drill.score()
        assert sum(part.points for part in score.parts) == pytest.approx(score.points, abs=1e-9)
        assert 0 < score.points <= 100
        dearer = [part for part in score.parts if part.name == "cost"]
        assert bool(dearer) == (drill.play.mended and score.minutes > score.best_minutes
                                and score.parts[0].name == "mended")  # fmt: skip


def test_dearer_play_scores_less_the_dearer_it_is(dunlin: MachineProblem) -> None:
    points = []
    for looks in range(6):
        idle = [("look", "standing: sensor alone")] * looks
        points.append(made(dunlin, 7, [*idle, *best_moves(drills.drill(dunlin, seed=7))]).score())
    values = [score.points for score in points]
    assert values == sorted(values, reverse=True)
    assert len(set(values)) == len(values)
    assert values[-1] > 50
