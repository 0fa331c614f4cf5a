"""What is refused in words, and what is kept and played again."""

from __future__ import annotations

import json
import random
from datetime import datetime
from pathlib import Path

import pytest

from tests.drills.playing import made, random_play
from tests.faultfinding.problems import problem_of
from tripmargin import drills
from tripmargin.drills import Drill, DrillError, Move
from tripmargin.drills.best_route import play_best
from tripmargin.faultfinding import MachineProblem


@pytest.fixture(scope="module")
def dunlin() -> MachineProblem:
    return problem_of("dunlin")


@pytest.mark.parametrize(
    ("do", "what", "why"),
    [
        ("look", "fuze F1", "Did you mean 'standing: fuse F1'?"),
        ("look", "standing: fues F1", "Did you mean 'standing: fuse F1'?"),
        ("look", "0", "a number from 1 to"),
        ("look", "999", "a number from 1 to"),
        ("go", "box harmed", "Did you mean 'box armed'?"),
        ("mend", "solenoid grund", "Did you mean 'mend solenoid ground'?"),
        ("mend", "prove again", "no such repair"),
        ("dance", "", "no such move"),
    ],
)
def test_what_is_not_there_is_refused_and_costs_nothing(
    dunlin: MachineProblem, do: str, what: str, why: str
) -> None:
    drill = drills.drill(dunlin, seed=7)
    with pytest.raises(DrillError) as error:
        drill.move(do, what)
    assert why in str(error.value)
    assert drill.play.moves == []


def test_half_a_drill_has_no_score_and_an_ended_one_no_further_move(
    dunlin: MachineProblem,
) -> None:
    drill = drills.drill(dunlin, seed=7)
    with pytest.raises(DrillError, match="half a drill"):
        drill.result(when=datetime(2026, 5, 4))
    drill.move("hand over")
    with pytest.raises(DrillError, match="has ended"):
        drill.move("test")
    with pytest.raises(DrillError, match="below 0"):
        drills.drill(dunlin, seed=-1)


def kept(drill: Drill, path: Path) -> Path:
    result = drill.result(when=datetime(2026, 5, 4, 7, 30), name="Ann")
    path.write_text(json.dumps(result.to_dict()), encoding="utf-8")
    return path


def test_a_kept_drill_is_read_back_whole_and_plays_to_the_same_score(
    dunlin: MachineProblem, tmp_path: Path
) -> None:
    rng = random.Random(8)
    for seed in range(10):
        drill = drills.drill(dunlin, seed=seed)
        drill.move("hint")
        random_play(drill, rng)
        path = kept(drill, tmp_path / f"{seed}.json")
        result = drills.read_result(path)
        assert result == drill.result(when=datetime(2026, 5, 4, 7, 30), name="Ann")
        again = drills.replay(dunlin, result)
        assert again.score() == result.score
        assert again.fault.id == result.fault


def test_another_machine_or_another_file_is_not_played_again(
    dunlin: MachineProblem, tmp_path: Path
) -> None:
    drill = made(dunlin, 7, [("hand over", "")])
    path = kept(drill, tmp_path / "one.json")
    text = path.read_text(encoding="utf-8")
    for old, new, why in (
        ('"Dunlin"', '"Curlew"', "the drill was on Curlew"),
        (drills.read_result(path).machine_mark, "0" * 12, "changed since"),
    ):
        path.write_text(text.replace(old, new), encoding="utf-8")
        with pytest.raises(DrillError, match=why):
            drills.replay(dunlin, drills.read_result(path))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("not json", "no JSON"),
        ("[]", "form"),
        ('{"form": "tripmargin drill 1"}', "missing"),
        ('{"form": "another"}', "form"),
    ],
)
def test_a_file_that_is_no_result_is_refused_in_words(tmp_path: Path, text: str, why: str) -> None:
    path = tmp_path / "odd.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(DrillError, match="not a drill's result") as error:
        drills.read_result(path)
    assert why in str(error.value)


def test_a_damaged_result_is_refused_in_words(dunlin: MachineProblem, tmp_path: Path) -> None:
    path = kept(made(dunlin, 7, [("hand over", "")]), tmp_path / "one.json")
    whole = json.loads(path.read_text(encoding="utf-8"))
    moves = [{"do": "fly", "what": "", "came": ""}], [{"do": "go", "what": 3, "came": ""}], "x"
    for damage in (
        *({"moves": each} for each in moves),
        {"seed": -1},
        {"seed": "7"},
        {"score": {"points": "many"}},
        {"name": None},
    ):
        path.write_text(json.dumps({**whole, **damage}), encoding="utf-8")
        with pytest.raises(DrillError, match="not a drill's result"):
            drills.read_result(path)


def test_a_move_is_plain(dunlin: MachineProblem) -> None:
    move = drills.drill(dunlin, seed=7).move("look", "standing: fuse F1")
    assert Move(**json.loads(json.dumps(move.to_dict()))) == move
    assert play_best(drills.drill(dunlin, seed=7).play).ended
