"""`tripmargin drill` in German: read in German, kept as in English. The German is checked against
itself only: no outside source."""

from __future__ import annotations

import json
from typing import Any

from click.testing import CliRunner

from tripmargin.cli.drill_words import came_words, gap_said, turned
from tripmargin.cli.drilling import drill
from tripmargin.drills import Move
from tripmargin.ground.languages import speaking

MOVES = ("measure lower", "secure", "measure lower", "measure upper", "hint", "turn lower 1 close",
         "place upper 3.5 mm", "done", "measure lower", "measure upper", "done")  # fmt: skip


def run(*args: str, typed: tuple[str, ...]) -> Any:
    result = CliRunner().invoke(drill, ["whimbrel", "--setting", "--seed", "3", *args],
                                input="\n".join([*typed, ""]))  # fmt: skip
    assert result.exit_code == 0, result.output
    return result


def test_a_drill_is_read_in_german_with_a_comma() -> None:
    with speaking("de"):
        said = " ".join(run(typed=MOVES).output.split())
    assert "eine Einstellübung, Startwert 3." in said
    assert "! Motor aus, Schlüssel ab, alles steht still." in said
    assert "NICHT SICHER. Der Schlüssel steht auf Ein" in said
    assert "Messen: unten = 3,8 mm [2,0 min]." in said
    assert "Hinweis: Jeder Abstand liegt sicher im Fenster" in said
    assert "die wahren Abstände, am Ende unten 2,85 mm, oben 3,57 mm." in said
    assert "von 100 Punkten" in said
    assert "lower" not in said.replace("measure lower", "").replace("turn lower", "")


def test_what_is_kept_is_english_and_pawls_are_found_by_either_name() -> None:
    english = json.loads(run("--json", typed=MOVES).stdout)
    typed = tuple(each.replace("lower", "unten").replace("upper", "oben") for each in MOVES)
    with speaking("de"):
        german = json.loads(run("--json", typed=typed).stdout)
    assert german | {"when": ""} == english | {"when": ""}


def test_words_of_a_move_by_what_it_is_kept_by() -> None:
    with speaking("de"):
        assert turned("-1.5").startswith("1,5 Umdrehungen")
        assert gap_said("3.8 mm") == "3,8 mm"
        assert came_words(Move("look", "standing: pawls", "in")) == "eingefallen"
        assert "Schritt 3" in came_words(Move("test", "", "failed at step 3"))
