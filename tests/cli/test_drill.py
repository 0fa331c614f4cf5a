"""`tripmargin drill` from the command line: whole drills, what is refused, what is kept."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.faultfinding.problems import problem_of
from tests.machine.files import SMALL, written
from tripmargin import drills
from tripmargin.cli.drill_talk import parsed
from tripmargin.cli.main import main
from tripmargin.machine import load_machine

SEED = 7


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder and a terminal of a known width."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


@pytest.fixture(scope="module")
def best() -> list[str]:
    """What somebody types who plays the best route of Dunlin's drill 7."""
    moves = drills.drill(problem_of("dunlin"), seed=SEED).best.moves
    return [f"{move.do} {move.what}".strip() for move in moves]


def run(*args: str, typed: str = "", code: int = 0) -> Result:
    result = CliRunner().invoke(main, ["drill", *args], input=typed)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    assert result.exit_code == code, result.output
    return result


def words(result: Result) -> str:
    return " ".join(result.output.split())


def test_the_best_route_typed_in_scores_100_and_both_routes_are_shown(best: list[str]) -> None:
    said = run("dunlin", "--seed", "7", typed="\n".join([*best, ""])).output
    assert "  100.0  points of 100" in said
    assert said.index("-- Your route") < said.index("-- The best route")
    assert "Hidden was: X1: pin does not touch." in said
    assert said.count("mend: X1 [25.3 min]") == 2
    assert [line for line in said.splitlines() if len(line) > 80] == []


def test_the_fault_is_not_told_before_the_end_and_cautions_come_first(best: list[str]) -> None:
    said = run("dunlin", "--seed", "7", typed="\n".join([*best, ""])).output
    start = said[: said.index("-- The end")]
    assert "pin does not touch" not in start
    assert start.index("! This protects knives") < start.index("The operator says:")
    for part in start.split("\n> go ")[1:]:
        assert part.index("CAUTION") < part.index("The machine is in")
    test = start[start.index("> test") :]
    assert test.index("! Before the engine starts") < test.index("The daily test passed")


def test_lists_and_numbers_choose(best: list[str]) -> None:
    typed = ["states", "2", "looks all", "looks", "8", "states", "standing", "1", "repairs", "4"]
    typed += ["so far", "help", "test", "done"]
    made = json.loads(run("dunlin", "--seed", "7", "--json", typed="\n".join(typed)).stdout)
    assert [(move["do"], move["what"]) for move in made["moves"]] == [
        ("go", "tractor's key on"), ("look", "tractor's key on: plunger"), ("go", "standing"),
        ("mend", "mend X1"), ("test", ""), ("done", ""),
    ]  # fmt: skip


def test_unsafe_moves_are_refused_with_the_caution_and_scored(best: list[str]) -> None:
    typed = ["go tractor's key on", "look standing: fuse F1", "done", "go standing", *best]
    said = run("dunlin", "--seed", "7", typed="\n".join(typed)).output
    flat = " ".join(said.split())
    assert 'NOT DONE: NOT SAFE. The machine is in "tractor\'s key on": the key is on.' in flat
    assert "! Engine off, key out, everything at rest." in flat
    assert said.count("unsafe move:") == 2
    points = float(next(x for x in said.splitlines() if x.endswith("points of 100")).split()[0])
    assert points < 49.5


def test_a_word_that_is_none_is_told_and_the_drill_goes_on(best: list[str]) -> None:
    typed = ["look", "lok 3", "look fuze F1", "go nowhere", "999", "", *best]
    result = run("dunlin", "--seed", "7", typed="\n".join(typed))
    said = words(result)
    assert "look = '': nothing named." in said
    assert "Did you mean 'look'?" in said
    assert "Did you mean 'standing: fuse F1'?" in said
    assert "state = 'nowhere': no such state." in said
    assert "look = '999': no such look." in said
    assert "100.0 points of 100" in said


def test_quitting_or_the_end_of_the_input_keeps_nothing_half(here: Path) -> None:
    for typed, code in (("go box armed\nquit\n", 0), ("go box armed\n", 1)):
        said = words(run("dunlin", "--seed", "7", "--save", "r.json", typed=typed, code=code))
        assert "no score, and nothing is kept. Seed 7 brings the same drill again." in said
        assert list(here.iterdir()) == []


def test_answers_from_a_file_saved_and_played_again(best: list[str], here: Path) -> None:
    (here / "moves.txt").write_text("\n".join(["hint", *best]), encoding="utf-8")
    args = ("dunlin", "--seed", "7", "--answers", "moves.txt", "--name", "Ann")
    result = run(*args, "--save", "r.json", "--json")
    made = json.loads(result.stdout)
    assert made == json.loads((here / "r.json").read_text(encoding="utf-8"))
    assert made["score"]["points"] == pytest.approx(95)
    assert (made["name"], made["machine"], made["seed"]) == ("Ann", "Dunlin", 7)
    assert "95.0 points of 100 The same score as in the file." in words(
        run("dunlin", "--again", "r.json")
    )
    again = json.loads(run("dunlin", "--again", "r.json", "--json").stdout)
    assert again["same_score"] is True
    # what is there is not overwritten, and that is said before anybody has played
    assert "is there already" in words(run(*args, "--save", "r.json", code=2))


def test_a_score_that_was_changed_is_found_out(best: list[str], here: Path) -> None:
    run("dunlin", "--seed", "7", "--save", "r.json", typed="hint\n" + "\n".join(best))
    kept = json.loads((here / "r.json").read_text(encoding="utf-8"))
    kept["score"]["points"] = 100.0
    (here / "r.json").write_text(json.dumps(kept), encoding="utf-8")
    assert "NOT the score in the file, 100.0" in words(run("dunlin", "--again", "r.json", code=2))


@pytest.mark.parametrize(
    ("args", "why"),
    [
        (("--seed", "seven"), "'seven' is not a whole number from 0 to"),
        (("--seed", "-1"), "is not a whole number"),
        (("--seed", "1.5"), "is not a whole number"),
        (("--save", "nowhere/r.json"), "there is no folder nowhere"),
        (("--again", "odd.json"), "not a drill's result (no JSON)"),
        (("--again", "odd.json", "--seed", "7"), "goes with --json only"),
        (("--answers", "none.txt"), "does not exist"),
        (("--answers", "odd.bin"), "not a text file in UTF-8"),
    ],
)
def test_what_cannot_be_is_refused_in_words(args: tuple[str, ...], why: str, here: Path) -> None:
    (here / "odd.json").write_text("nothing", encoding="utf-8")
    (here / "odd.bin").write_bytes(b"\xff\xfe\x00")
    assert why in words(run("dunlin", *args, code=2)).replace("│ ", "")


# --- setting pawls, and what is due again --------------------------------------------------------


@pytest.fixture(scope="module")
def set_by_the_planner() -> list[str]:
    """What somebody types who sets Whimbrel's pawls of drill 1 as the planner would."""
    typed = []
    for move in drills.setting_drill(load_machine("whimbrel"), seed=1).best.moves:
        pawl, _, number = move.what.rpartition(" ")
        if move.do == "turn":
            way = "open" if float(number) > 0 else "close"
            typed.append(f"turn {pawl} {abs(float(number)):g} {way}")
        elif move.do == "place":
            typed.append(f"place {pawl} {1e3 * float(number):.2f} mm")
        else:
            typed.append(f"{move.do} {move.what}".strip())
    return typed


def test_pawls_are_set_by_feel_and_the_planners_play_scores_100(
    set_by_the_planner: list[str], here: Path
) -> None:
    typed = "\n".join(["help", *set_by_the_planner])
    args = ("whimbrel", "--setting", "--seed", "1", "--save", "s.json")
    said = run(*args, typed=typed).output
    flat = " ".join(said.split())
    assert flat.index("! Engine off, key out") < flat.index("Set every pawl's gap between")
    assert "100.0 points of 100" in flat
    assert "The best route, the planner's own" in flat
    assert [line for line in said.splitlines() if len(line) > 80] == []
    assert "The same score as in the file." in words(run("whimbrel", "--again", "s.json"))


def test_odd_lines_are_told_and_hands_wait_for_a_secured_machine(
    set_by_the_planner: list[str],
) -> None:
    odd = ["measure lower", "turn lower", "turn lower 1 sideways", "place upper 3", "plce upper 3"]
    odd += ["place upper 3 kg", "measure uper", "so far"]
    result = run("whimbrel", "--setting", "--seed", "1", typed="\n".join([*odd, "quit"]))
    said = words(result)
    assert "NOT DONE: NOT SAFE. The key is on, and the feed rolls are not blocked." in said
    assert "turn = 'lower 1 sideways': not a turn of a pawl." in said
    assert "open or close or out or in" in said
    assert "place = 'upper 3': not a gap of a pawl." in said
    assert '"kg" is a unit of mass, not of length' in said
    assert "Did you mean 'place'?" in said
    assert "Did you mean 'upper'?" in said
    assert "1 measure: lower = refused: not safe" in said


def test_what_went_wrong_comes_again_when_it_is_due(here: Path) -> None:
    run("dunlin", "--seed", "3", "--save", "r.json", typed="hand over\n")
    fresh = words(run("dunlin", "--past", "r.json", typed="quit\n"))
    assert "Nothing is due again: a new drill." in fresh
    kept = json.loads((here / "r.json").read_text(encoding="utf-8"))
    kept["when"] = "2026-05-04T08:00:00+00:00"
    (here / "r.json").write_text(json.dumps(kept), encoding="utf-8")
    due = run("dunlin", "--past", "r.json", "--json", typed="hand over\n")
    again = json.loads(due.stdout)
    assert again["kind"] == kept["kind"]
    assert again["seed"] > 3
    assert "is due again" in due.stderr
    run("dunlin", "--past", "r.json", "--seed", "3", code=2)


def test_a_machine_without_wiring_is_refused(tmp_path: Path) -> None:
    assert "Add [circuit]" in words(run(str(written(tmp_path, SMALL)), "--seed", "1", code=2))


def test_a_seed_is_chosen_and_said_where_none_is_given() -> None:
    assert "Dunlin: a drill, seed " in words(run("dunlin", typed="quit\n"))


def test_a_line_is_parsed() -> None:
    assert parsed("LOOK 12", "states") == ("look", "12")
    assert parsed("7", "repairs") == ("mend", "7")
    with pytest.raises(drills.DrillError, match='"states" lists all'):
        parsed("go", "looks")
