"""What is to be learnt from a drill, alone and as a class; kept results read back."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from tests.drills.playing import made
from tests.faultfinding.problems import problem_of
from tripmargin import drills
from tripmargin.drills import DrillError, DrillResult, lessons_of, talk_about
from tripmargin.drills.lessons import MANY
from tripmargin.machine import load_machine

WHEN = datetime(2026, 11, 29, tzinfo=UTC)
SEED = 7  # on the dunlin: X1


def played(*moves: tuple[str, str]) -> DrillResult:
    return made(problem_of("dunlin"), SEED, list(moves)).result(when=WHEN)


BEST = (("mend", "mend X1"), ("test", ""), ("done", ""))
UNSAFE = (("go", "tractor's key on"), ("mend", "mend F1"), ("mend", "mend F2"), ("go", "standing"))


def test_safety_comes_first_among_the_lessons_and_once() -> None:
    said = lessons_of(played(*UNSAFE, ("mend", "mend D"), ("hint", ""), *BEST))
    assert said[0].startswith("Safety comes first")
    assert sum("Safety" in each for each in said) == 1
    assert sum(each.startswith("D was replaced") for each in said) == 1
    assert any("1 card was asked for" in each for each in said)


def test_nothing_went_wrong_is_said_of_full_points_only() -> None:
    assert lessons_of(played(*BEST)) == ("Nothing went wrong. Take another drill.",)
    wander = (("go", "tractor's key on"), ("go", "standing"))
    plays = (played(*wander * count, *BEST) for count in range(1, 40))
    dear = next(each for each in plays if each.score.points < 99.9)
    assert dear.score.minutes < MANY * dear.score.best_minutes
    (said,) = lessons_of(dear)
    assert f"it took {dear.score.minutes:.1f} min; the best route takes" in said


def test_whoever_gives_up_or_is_wrong_learns_where_the_best_route_looked() -> None:
    looks = [m.what for m in drills.drill(problem_of("dunlin"), seed=SEED).best.moves
             if m.do == "look"]  # fmt: skip
    given_up = lessons_of(played(("hand over", "")))
    assert "handed over" in given_up[0]
    assert looks[0] in given_up[1]
    # F1 is whole; a test that passes by luck proves nothing of X1, so it stays failed: no way to
    # declare it. A fault that the daily test does not show is declared mended and is not.
    of = problem_of("dunlin")
    for seed in range(40):
        drill = drills.drill(of, seed=seed)
        if drill.move("test").came == "passed":
            drill.move("done")
            break
    said = lessons_of(drill.result(when=WHEN))
    assert "It was declared done, and was not." in said[0]


def test_what_a_class_has_in_common_is_counted_by_heads() -> None:
    talk = talk_about([
        played(*UNSAFE, *BEST), played(*BEST), played(("mend", "mend D"), ("hand over", "")),
    ])  # fmt: skip
    assert (talk.ended, talk.unsafe, talk.handed_over, talk.left, talk.hinted) == (3, 2, 1, 0, 0)
    ((caution, people),) = talk.cautions  # broken twice, by one
    assert people == 1
    assert caution.startswith("Engine off, key out")
    assert talk.briefly == (("Engine off, key out, at rest, feed rolls blocked.", 1),)
    assert talk.modules == (("D", 1),)
    assert talk.mean == pytest.approx((100 * 0.7**2 + 100 + 10 * 0.9) / 3, rel=1e-9)


def test_a_result_is_read_back_from_what_the_records_keep() -> None:
    result = played(*UNSAFE, *BEST)
    assert drills.result_from(json.loads(json.dumps(result.to_dict()))) == result
    with pytest.raises(DrillError, match="'score' is missing"):
        drills.result_from({})
    setting = drills.setting_drill(load_machine("dunlin"), seed=1)
    for move in setting.best.moves:
        setting.move(move.do, move.what)
    kept = setting.result(when=WHEN)
    assert drills.result_from(kept.to_dict()) == kept
