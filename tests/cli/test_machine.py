"""`tripmargin machine new|check|show|schema`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.machine.files import SMALL, written
from tripmargin.cli.main import main
from tripmargin.machine import json_schema, load_machine
from tripmargin.machine.asking import CAUTIONS, NEAR_THE_MACHINE, REMINDER, Answers
from tripmargin.machine.loading import demo_path


def run(*args: str, answers: str | None = None) -> Result:
    result = CliRunner().invoke(main, args, input=answers)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_check_says_that_a_file_is_fine_and_what_is_assumed(tmp_path: Path) -> None:
    written(tmp_path, SMALL)
    result = run("machine", "check", "curlew", "knot.toml")
    assert result.exit_code == 0
    assert "curlew: ok, Curlew" in result.output
    assert "Assumed" in result.output
    assert "chain.supply" in result.output


def test_check_looks_at_the_wiring_too(tmp_path: Path) -> None:
    wiring = """
[circuit.parts]
battery = { kind = "battery", between = ["30", "0"] }
W1 = { kind = "wire", between = ["30", "15"], resistance = "1 ohm" }
"""
    written(tmp_path, SMALL + wiring)
    result = run("machine", "check", "knot.toml")
    assert result.exit_code == 1
    line = (SMALL + wiring).splitlines().index(wiring.splitlines()[3]) + 1
    assert f"knot.toml:{line}: circuit.parts.W1 = 15: this wire goes nowhere" in result.output


def test_check_says_every_problem_with_its_line(tmp_path: Path) -> None:
    written(tmp_path, SMALL.replace('"260 mm"', '"260"').replace("knives = 8", "knives = 0"))
    result = run("machine", "check", "dunlin", "knot.toml")
    assert result.exit_code == 1
    assert "dunlin: ok" in result.output
    assert 'knot.toml:8: feed.sensor_to_shear_bar = "260": no unit.' in result.output
    assert "knot.toml: 2 problems." in result.output


def test_check_refuses_a_piece_that_nobody_can_read(tmp_path: Path) -> None:
    text = SMALL + '[limits]\nmust_stop = "a blue moon"\n'
    written(tmp_path, text)
    result = run("machine", "check", "knot.toml")
    assert result.exit_code == 1
    line = len(text.splitlines())
    assert f'knot.toml:{line}: limits.must_stop = "a blue moon": ' in result.output
    assert "20 mm ball" in result.output


def test_a_test_piece_that_nobody_can_read_is_refused_with_its_place(tmp_path: Path) -> None:
    folder = demo_path("whimbrel").parent
    for name in ("whimbrel.toml", "type-self-propelled.toml"):
        text = (folder / name).read_text(encoding="utf-8")
        broken = text.replace('piece = "10 mm ball"', 'piece = "12 mm banana"')
        (tmp_path / name).write_text(broken, encoding="utf-8")
    result = run("machine", "check", "./whimbrel.toml")
    assert result.exit_code == 1
    line = broken.splitlines().index(next(x for x in broken.splitlines() if "banana" in x)) + 1
    place = f"type-self-propelled.toml:{line}: checks.looks.test piece.piece"
    assert f'{place} = "12 mm banana": ' in result.output
    asked = run("find-fault", "./whimbrel.toml", "--complaint", "dead", "--cards", "1")
    assert asked.exit_code != 0
    assert '"12 mm banana": checks.looks.test piece.piece: ' in asked.output
    assert "Allowed: " in asked.output


def test_check_says_which_sections_are_missing(tmp_path: Path) -> None:
    written(tmp_path, "[feed]\nknives = 8\n")
    assert (
        "Not given: [sensor]; prove and reach will ask for it."
        in run("machine", "check", "knot.toml").output
    )


def test_show_gives_each_field_in_the_units_wanted_and_as_written() -> None:
    metric = run("machine", "show", "dunlin").output
    assert "236 mm +- 3 mm" in metric
    us = run("machine", "show", "dunlin", "--us").output
    assert "9.291 in +- 0.1181 in" in us  # 236 / 25.4, 3 / 25.4
    assert "236 mm +- 3 mm" in us  # as written


def test_show_marks_what_is_assumed(tmp_path: Path) -> None:
    written(tmp_path, SMALL)
    lines = run("machine", "show", "knot.toml").output.splitlines()
    (supply,) = [line for line in lines if line.strip().startswith("supply ")]
    assert "assumed" in supply


def test_show_as_json_is_in_si() -> None:
    shown = json.loads(run("machine", "show", "dunlin", "--json").output)
    assert shown["feed"]["sensor_to_shear_bar"]["nominal"] == pytest.approx(0.236)
    assert shown["feed"]["sensor_to_shear_bar"]["unit"] == "m"


def test_schema_prints_the_schema() -> None:
    assert json.loads(run("machine", "schema").output) == json_schema()


ANSWERS = {
    "metric": "",
    "type sheet": "",
    "pawls": "",
    "name": "Knot",
    "description": "",
    "serial": "",
    "knives": "8",
    "cutterhead_speed": "1000 +- 2 %",
    "cut_lengths": "5, 10 mm",
    "slip": "",
    "roll_diameter": "160",
}


def test_new_asks_writes_a_commented_file_and_it_loads(tmp_path: Path) -> None:
    result = run("machine", "new", "knot.toml", answers="\n".join(ANSWERS.values()) + "\n" * 40)
    assert result.exit_code == 0, result.output
    assert "CAUTION" in result.output
    assert "engine off" in result.output
    machine = load_machine(tmp_path / "knot.toml")
    assert machine.name == "Knot"
    assert machine.get("feed.cutterhead_speed").high * 60 == pytest.approx(1020)
    assert machine.get("feed.roll_diameter").text == "160 mm"
    assert "# slip: " in (tmp_path / "knot.toml").read_text(encoding="utf-8")


def test_new_shows_the_cautions_before_the_first_question_near_the_machine() -> None:
    output = run("machine", "new", "knot.toml", answers="\n" * 40).output
    assert output.index("CAUTION") < output.index("feed.knives")
    for section in ("[feed]", "[sensor]", "[chain]"):
        assert output.split(section)[1].lstrip().startswith("CAUTION")


def test_new_asks_again_after_a_bad_answer_with_what_is_allowed() -> None:
    answers = {**ANSWERS, "knives": "no\n8", "roll_diameter": "160 V\n160 mm"}
    result = run("machine", "new", "knot.toml", answers="\n".join(answers.values()) + "\n" * 40)
    assert result.exit_code == 0
    assert "a unit of voltage, not of length" in result.output
    assert "Allowed: a length such as" in result.output
    assert load_machine("knot.toml").get("feed.roll_diameter").nominal == pytest.approx(0.16)


def test_new_goes_back_and_keeps_or_drops_an_answer() -> None:
    answers = {**ANSWERS, "slip": "back\nskip\n2 %"}  # back to cut_lengths, drop them, then slip
    result = run("machine", "new", "knot.toml", answers="\n".join(answers.values()) + "\n" * 40)
    assert result.exit_code == 0
    machine = load_machine("knot.toml")
    assert machine.feed is not None
    assert machine.feed.cut_lengths == ()
    assert machine.get("feed.slip").nominal == pytest.approx(0.02)


def test_new_keeps_what_was_answered_when_the_input_ends(tmp_path: Path) -> None:
    written(tmp_path, "# mine\n", "knot.draft.toml")
    result = run("machine", "new", "knot.toml", answers="\n".join(ANSWERS.values()) + "\n")
    assert result.exit_code == 1
    assert "knot.draft-2.toml" in result.output
    assert load_machine("knot.draft-2.toml").get("feed.knives").nominal == 8
    assert (tmp_path / "knot.draft.toml").read_text(encoding="utf-8") == "# mine\n"
    assert not (tmp_path / "knot.toml").exists()


def test_new_keeps_what_was_answered_on_ctrl_c(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = iter(["", "", "", "Knot"])

    def typed() -> str:
        try:
            return next(given)
        except StopIteration:
            raise KeyboardInterrupt from None

    monkeypatch.setattr("builtins.input", typed)
    result = run("machine", "new")
    assert result.exit_code == 130
    assert load_machine(tmp_path / "knot.draft.toml").name == "Knot"


def test_new_writes_nothing_when_nothing_was_answered(tmp_path: Path) -> None:
    result = run("machine", "new", answers="")
    assert result.exit_code == 1
    assert list(tmp_path.iterdir()) == []


def test_new_does_not_overwrite_unasked(tmp_path: Path) -> None:
    written(tmp_path, SMALL)
    unanswered = "\n" * (len(Answers().questions()) - 1)
    answers = "\n\n\nKnot\n" + unanswered + "no\nother.toml\n"
    result = run("machine", "new", "knot.toml", answers=answers)
    assert result.exit_code == 0, result.output
    assert "knot.toml is there already. Overwrite it, yes or no?" in result.output
    assert (tmp_path / "knot.toml").read_text(encoding="utf-8") == SMALL
    assert load_machine(tmp_path / "other.toml").name == "Knot"


def test_new_overwrites_when_told_to(tmp_path: Path) -> None:
    written(tmp_path, SMALL)
    unanswered = "\n" * (len(Answers().questions()) - 1)
    result = run("machine", "new", "knot.toml", answers="\n\n\nRuff\n" + unanswered + "yes\n")
    assert result.exit_code == 0, result.output
    assert load_machine(tmp_path / "knot.toml").name == "Ruff"


def test_new_builds_on_a_type_sheet(tmp_path: Path) -> None:
    written(tmp_path, SMALL, "type.toml")
    result = run("machine", "new", "mine.toml", answers="\nno.toml\ntype.toml\nMine\n" + "\n" * 40)
    assert result.exit_code == 0, result.output
    assert "no such file" in result.output or "cannot be read" in result.output
    machine = load_machine(tmp_path / "mine.toml")
    assert (machine.name, machine.get("feed.knives").nominal) == ("Mine", 8)


def test_new_names_the_file_after_the_machine(tmp_path: Path) -> None:
    result = run("machine", "new", answers="\n\n\nSand/martin: 2\n" + "\n" * 40)
    assert result.exit_code == 0, result.output
    assert load_machine(tmp_path / "sand-martin-2.toml").name == "Sand/martin: 2"


def test_new_cautions_in_full_once_and_reminds_afterwards() -> None:
    said = run("machine", "new", "knot.toml", answers="\n" * 60).output
    assert said.count(CAUTIONS) == 1
    assert said.count(f"CAUTION. {REMINDER}") == len(NEAR_THE_MACHINE)
    assert said.index(CAUTIONS) < said.index(REMINDER)


def test_new_says_of_what_is_read_running_how_nobody_is_near() -> None:
    said = run("machine", "new", "knot.toml", answers="\n" * 60).output
    for name in ("feed.cutterhead_speed", "feed.slip", "detector.noise", "chain.supply"):
        own = said.split(f" {name}: ")[1].split("[Enter")[0]
        assert "CAUTION. This is read while the machine runs: from the seat, or from outside" in own
        assert "nobody near rolls, knives or drives" in own
        assert "engine off, key out" in own  # before the meter, the mark or the tape goes on
        assert own.index("CAUTION") < own.index("How:")
    assert said.count("This is read while the machine runs") == 4


def test_new_asks_about_a_list_whose_comma_may_be_a_decimal_sign(tmp_path: Path) -> None:
    answers = dict(ANSWERS)
    said = list(answers.values())
    at = list(answers).index("cut_lengths")
    said[at : at + 1] = ["4,5; 8", "4.5; 8"]
    result = run("machine", "new", "k.toml", answers="\n".join(said) + "\n" * 60)
    assert result.exit_code == 0, result.output
    assert 'write "4.5; 8"' in result.output
    assert 'write "4; 5; 8"' in result.output
    assert load_machine(tmp_path / "k.toml").feed.cut_lengths == pytest.approx(  # type: ignore[union-attr]
        (0.0045, 0.008)
    )


@pytest.mark.parametrize("letter", ["\0", "\x1b", "\x7f"], ids=ascii)
def test_new_refuses_what_cannot_be_printed_wherever_it_is_typed(
    tmp_path: Path, letter: str
) -> None:
    lines = ["metric", f"no{letter}ne", "none", f"low{letter}er", "lower, upper", f"Kn{letter}t"]
    result = run("machine", "new", "k.toml", answers="\n".join([*lines, "Knot"]) + "\n" * 60)
    assert result.exit_code == 0, result.output
    assert result.output.count("It holds a character that cannot be printed") == 3
    assert letter not in result.output
    assert load_machine(tmp_path / "k.toml").name == "Knot"


def test_new_says_at_the_start_what_a_yard_cannot_measure() -> None:
    start = run("machine", "new", "knot.toml", answers="\n" * 60).output.split("[machine]")[0]
    for word in ("Magnets", "threshold", "type sheet", "docs/how-to/measure-a-machine.md"):
        assert word in start


def test_new_tells_a_list_as_a_person_writes_it_and_uses_the_right_article() -> None:
    answers = {**ANSWERS, "cut_lengths": "6, 9 mm"}
    said = run("machine", "new", "k.toml", answers="\n".join(answers.values()) + "\n" * 60).output
    assert "Taken as: 6 mm, 9 mm\n" in said
    assert "Allowed: an angle such as" in said
    assert " a angle" not in said
