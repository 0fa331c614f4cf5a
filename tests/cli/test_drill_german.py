"""`tripmargin drill` in German: read in German, kept as in English. The German is checked against
itself only: no outside source."""

from __future__ import annotations

import json
import re
from typing import Any

from click.testing import CliRunner

from tripmargin.cli.drill_words import came_words, gap_said, score_lines, turned
from tripmargin.cli.drilling import drill
from tripmargin.drills import Move, score_of
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


def test_commas_are_typed_in_german() -> None:
    typed = tuple(each.replace("3.5", "3,5").replace("1 close", "1,0 close") for each in MOVES)
    english = json.loads(run("--json", typed=MOVES).stdout)
    with speaking("de"):
        german = json.loads(run("--json", typed=typed).stdout)
    kept = [each["what"].replace(" -1.0", " -1") for each in german["moves"]]
    assert kept == [each["what"].replace(" -1.0", " -1") for each in english["moves"]]


def test_in_english_a_comma_is_refused_where_one_is_typed() -> None:
    said = " ".join(run(typed=("secure", "place upper 3,5 mm", *MOVES)).output.split())
    assert "not a gap of a pawl" in said


def test_how_sure_is_typed_with_a_comma() -> None:
    with speaking("de"):
        result = CliRunner().invoke(
            drill, ["whimbrel", "--would-it-stop", "--seed", "7", "--questions", "2"],
            input="geschützt 82,5\n10,5 0 89,5\n",
        )  # fmt: skip
        assert result.exit_code == 0, result.output
        said = " ".join(result.output.split())
    assert "Gesagt: geschützt 82,5." in said
    assert "Gesagt: übersehen 10,5 %, zu spät 0 %, geschützt 89,5 %." in said
    points = re.findall(r"(\S+) von 100 Punkten\.", said)
    assert len(points) == 2
    assert all(re.fullmatch(r"\d+,\d", each) for each in points)


def test_what_is_typed_stands_apart_from_what_it_means() -> None:
    with speaking("de"):
        result = CliRunner().invoke(
            drill, ["whimbrel", "--would-it-stop", "--seed", "7", "--questions", "1"],
            input="geschützt\n",
        )  # fmt: skip
        assert result.exit_code == 0, result.output
    line = next(each for each in result.output.splitlines() if "übersehen, zu spät" in each)
    assert "übersehen, zu spät, geschützt  " in line


def test_an_unsafe_move_and_handing_over_are_told_in_words() -> None:
    moves = [
        Move("mend", "mend D", "refused: not safe", caution="Engine off.", why="The key is on."),
        Move("hand over", "", "handed over", 305.0),
    ]
    score = score_of(moves, mended=False, best_minutes=10.0)
    with speaking("de"):
        said = "\n".join(score_lines(score, moves))
    assert "unsicherer Zug: Instand setzen: D." in said
    assert "mend D" not in said
    assert "Kosten: Das Übergeben dauert 305 min." in said
    english = "\n".join(score_lines(score, moves))
    assert "unsafe move: Mend: D." in english
    assert "cost: Handing over takes 305 min." in english
