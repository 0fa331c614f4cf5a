"""Drills in German: what is kept is the same as in English, what is read is German. The German is
checked against itself only: no outside source."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from tests.drills.playing import made
from tests.faultfinding.problems import problem_of
from tripmargin import drills
from tripmargin.drills import DrillError, DrillResult
from tripmargin.drills.told import look_said, said, subject_said
from tripmargin.ground.languages import speaking
from tripmargin.ground.languages.own_words import as_written
from tripmargin.machine import load_machine

WHEN = datetime(2026, 11, 29, tzinfo=UTC)
SEED = 7  # on the dunlin: X1
MOVES = [
    ("go", "tractor's key on"), ("look", "standing: fuse F1"), ("mend", "mend F1"), ("done", ""),
    ("go", "standing"), ("look", "standing: fuse F1"), ("hint", ""), ("mend", "mend D"),
    ("mend", "mend X1"), ("test", ""), ("hint", ""), ("done", ""),
]  # fmt: skip


def setting_played(seed: int) -> DrillResult:
    drill = drills.setting_drill(load_machine("whimbrel"), seed=seed)
    drill.move("measure", "lower")  # refused: the key is on
    for move in drill.best.moves:
        drill.move("hint")
        drill.move(move.do, move.what)
    return drill.result(when=WHEN)


def stop_played() -> DrillResult:
    drill = drills.would_it_stop(load_machine("whimbrel"), seed=7, questions=1)
    drill.answer("protected 90")
    return drill.result(when=WHEN)


@pytest.mark.parametrize("kind", ["fault", "setting", "stop"])
def test_what_is_kept_is_the_same_in_every_language(kind: str) -> None:
    def played() -> DrillResult:
        if kind == "fault":
            return made(problem_of("dunlin"), SEED, MOVES).result(when=WHEN)
        return setting_played(3) if kind == "setting" else stop_played()

    english = json.dumps(played().to_dict())
    with speaking("de"):
        result = played()
        assert json.dumps(result.to_dict()) == english
        assert drills.result_from(json.loads(english)) == result


def test_what_came_of_a_fault_drill_is_said_in_german() -> None:
    result = made(problem_of("dunlin"), SEED, MOVES).result(when=WHEN)
    unsafe = [move for move in result.moves if move.unsafe]
    assert len(unsafe) == 3
    with speaking("de"):
        assert said(unsafe[0].caution).startswith("Motor aus, Schlüssel ab, alles steht still.")
        assert "der Schlüssel ist auf Ein" in said(unsafe[0].why)
        assert result.hidden.startswith("X1: ")
        assert result.hidden != str(result.said)
        parts = {part.name: part for part in result.score.parts}
        assert parts["cost"].called == "Kosten"
        assert "min verbraucht, Teile als Zeit gerechnet" in parts["cost"].because
        assert "," in parts["cost"].because.partition(" min")[0]
        assert parts["unsafe move"].because.startswith("für fertig erklären. ")
    assert parts["cost"].because == parts["cost"].why


def test_a_setting_drill_is_said_in_german_with_a_comma() -> None:
    result = setting_played(3)
    hint = next(move for move in result.moves if move.do == "hint" and move.what)
    with speaking("de"):
        assert "Sperrklinke" in said(hint.why)
        assert result.hidden.startswith("die wahren Abstände, am Ende unten ")
        assert "," in result.hidden.partition("unten ")[2].partition(" mm")[0]


def test_a_result_read_from_a_file_says_its_cautions_in_german() -> None:
    kept = json.loads(json.dumps(setting_played(3).to_dict()))
    read = drills.result_from(kept)
    with speaking("de"):
        assert said(read.moves[0].caution).startswith("Motor aus, Schlüssel ab")
        assert drills.lessons_of(read)[0].startswith("Sicherheit geht vor, jedes Mal: Motor aus")
        ((caution, people),) = drills.talk_about([read]).cautions
    assert people == 1
    assert caution.startswith("Motor aus")
    ((caution, _),) = drills.talk_about([read]).cautions
    assert caution.startswith("Engine off")


def test_a_state_is_found_by_its_german_name_and_refusals_are_german() -> None:
    drill = drills.drill(problem_of("dunlin"), seed=SEED)
    with speaking("de"):
        assert as_written("box armed") != "box armed"
        assert drill.move("go", as_written("box armed")).what == "box armed"
        with pytest.raises(DrillError, match="kein solcher Zustand"):
            drill.move("go", "nirgendwo")


def test_where_a_moving_part_stands_is_not_a_look_at_it_by_hand() -> None:
    with speaking("de"):
        assert look_said("standing: plunger seen") == "abgestellt: Anker, angesehen"
        assert look_said("standing: plunger") == "abgestellt: Anker"
        assert subject_said("metal seen") == "metal seen"  # a lamp of somebody's own
    assert subject_said("plunger seen") == "plunger seen"
