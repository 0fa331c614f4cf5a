"""`prove`, `race` and `reach` from the command line, on machines that are quick to answer."""

from __future__ import annotations

import csv
import errno
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.machine.files import written
from tripmargin import load_machine, protection, sensing
from tripmargin.cli.main import main
from tripmargin.ground.units import percent
from tripmargin.machine.asking import CAUTIONS
from tripmargin.machine.loading import demo_path

ONE_CUT = ("--cut", "12 mm")
STICKS = ("--set", 'chain.plunger.parts.spring_force="2 N"')
MAY_STICK = ("--set", 'chain.plunger.parts.spring_force="8 N +- 3 N"')
NO_NUMBER = re.compile(r"\b(inf|nan|none (mm|ms|in))\b", re.IGNORECASE)


def run(*args: str) -> Result:
    result = CliRunner().invoke(main, args)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result


@pytest.fixture(scope="module")
def proof() -> protection.Proof:
    return protection.prove(load_machine("sanderling"), cut_lengths=[0.012])


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str]:
    """The same proof as the command prints it, and as a page."""
    saved = tmp_path_factory.mktemp("pages") / "map.html"
    result = run("prove", "sanderling", *ONE_CUT, "--save", str(saved))
    assert result.exit_code == 0, result.output
    return result.output, saved.read_text(encoding="utf-8")


def test_prove_says_what_the_library_says(proof: protection.Proof, tmp_path: Path) -> None:
    saved = tmp_path / "map.csv"
    result = run("prove", "sanderling", *ONE_CUT, "--json", "--save", str(saved))
    assert result.exit_code == 0, result.output
    answer = json.loads(result.stdout)
    assert answer["verdict"] == proof.verdict
    assert answer["cuts"][0]["probability_protected"] == pytest.approx(
        proof.cuts[0].protected, rel=1e-9
    )
    header, *rows = saved.read_text(encoding="utf-8").splitlines()
    assert header == "cut_mm,ball_mm,missed,too_late,protected"
    for row in rows:
        missed, late, stopped = map(float, row.split(",")[2:])
        assert missed + late + stopped == pytest.approx(1, abs=1e-9)


def test_prove_prints_the_verdict_first_and_the_safety_line(
    proof: protection.Proof, tmp_path: Path
) -> None:
    saved = tmp_path / "map.html"
    output = run("prove", "sanderling", *ONE_CUT, "--us", "--save", str(saved)).output
    assert output.startswith(f"Sanderling: {proof.verdict}")
    assert "0.472 in" in output  # 12 mm
    assert "not people" in output
    assert output.rstrip().endswith(f"Saved: {saved}")
    assert "<svg" in saved.read_text(encoding="utf-8")


def test_prove_tables_the_margin_the_smallest_balls_and_the_share_of_places(
    proof: protection.Proof, printed: tuple[str, str]
) -> None:
    lines = printed[0].splitlines()
    (row,) = [
        line
        for k, line in enumerate(lines)
        if lines[k - 1].lstrip().startswith("cut  ") and "margin, mm" in lines[k - 1]
    ]
    cut = proof.cuts[0]
    assert cut.margin is not None
    assert cut.share_of_places is not None
    cells = re.split(r"\s{2,}", row.strip())
    assert float(cells[1].replace("\u2212", "-")) == pytest.approx(cut.margin * 1e3, rel=5e-3)
    low, high = (float(n.replace("\u2212", "-")) for n in cells[2].split(" to "))
    assert (low, high) == pytest.approx((cut.margin.low * 1e3, cut.margin.high * 1e3), rel=5e-3)
    for cell, ball in ((cells[3], cut.smallest_ball), (cells[4], cut.smallest_ball_worst)):
        assert (
            cell == "none" if ball is None else float(cell) == pytest.approx(ball * 1e3, rel=5e-3)
        )
    assert cells[5] == percent(cut.share_of_places)


@pytest.mark.parametrize("more", [(), ("--us", *MAY_STICK)], ids=["metric", "US, may stick"])
def test_prove_fits_a_terminal_of_eighty_columns(more: tuple[str, ...]) -> None:
    output = run("prove", "curlew", "--cut", "5 mm", "--cut", "22 mm", *more).output
    assert [line for line in output.splitlines() if len(line) > 80] == []


def test_prove_warns_before_it_names_anything_to_turn_or_measure(
    printed: tuple[str, str],
) -> None:
    output, page = printed
    said = " ".join(output.split())
    assert said.index(CAUTIONS) < said.index("Because:") < said.index("What if:")
    assert said.index(CAUTIONS) < said.index("Measure next:")
    assert page.index("release stored energy") < page.index("<svg")
    for title in ("Because", "Stages: how far", "What if: the margin", "Measure next"):
        assert f"<h2>{title}" in page


def test_prove_writes_stages_and_settings_under_headings_of_their_own(
    proof: protection.Proof, printed: tuple[str, str]
) -> None:
    stages, settings = printed[0].split("Stages: ")[1].split("What if: ")[:2]
    for cost in proof.costs:
        assert cost.words() in (stages if cost.kind == "stage" else settings)
    assert "plunger's fall" in stages
    assert re.search(r"(gives|takes) [\d.]+ mm", settings)
    assert "_" not in stages + settings.split("Measure next")[0]


def test_prove_in_us_units_leaves_no_metric_length_but_what_the_file_says() -> None:
    output = run("prove", "curlew", "--cut", "5 mm", "--us").output
    assert " ft/min" in output
    ours = output.split("Measure next:")[0]  # fields below are quoted as the file has them
    assert re.findall(r"[\d.]+ (?:mm(?! ball)|m/s)", ours) == []


def test_a_share_just_below_the_confidence_does_not_read_as_reaching_it(
    proof: protection.Proof,
) -> None:
    from dataclasses import replace

    from tripmargin.pictures.proof_sections import page_table

    cut = replace(proof.cuts[0], protected=0.9899, verdict="doubtful")
    headers, (row,) = page_table(replace(proof, cuts=(cut,)), us=False)
    assert dict(zip(headers, row, strict=True))["stopped"] == "98.99 %"
    other = replace(cut, piece="30 mm ball")
    headers, rows = page_table(replace(proof, cuts=(cut, other)), us=False)
    assert [dict(zip(headers, row, strict=True))["piece"] for row in rows] == [
        cut.piece,
        "30 mm ball",
    ]


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("ending", [".svg", ".png", ".html", ".csv"])
@pytest.mark.parametrize("what_if", [STICKS, MAY_STICK], ids=["sticks", "may stick"])
def test_race_says_in_plain_words_that_a_stop_may_never_come_about(
    what_if: tuple[str, ...], ending: str, tmp_path: Path
) -> None:
    saved = tmp_path / f"race{ending}"
    result = run("race", "curlew", *what_if, "--save", str(saved))
    assert result.exit_code == 0, result.output
    said = " ".join(result.output.split())
    assert not NO_NUMBER.search(said)
    assert "the feed runs on" in said
    assert "plunger's fall" in said
    assert ("never comes about" if what_if == STICKS else "may never come about") in said
    if ending == ".csv":
        lines = saved.read_text(encoding="utf-8").splitlines()
        rows = {row["stage"]: row for row in csv.DictReader(lines)}
        assert rows["plunger"]["high_ms"] == "never"
        assert float(rows["relay_release"]["high_ms"]) == pytest.approx(9)
    elif ending != ".png":
        assert not NO_NUMBER.search(
            re.sub(r"<style>.*?</style>", "", saved.read_text("utf-8"), flags=re.S)
        )


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("what_if", [STICKS, MAY_STICK], ids=["sticks", "may stick"])
def test_prove_says_in_plain_words_that_a_stop_may_never_come_about(
    what_if: tuple[str, ...], tmp_path: Path
) -> None:
    saved = tmp_path / "map.html"
    result = run("prove", "curlew", "--cut", "12 mm", *what_if, "--save", str(saved))
    assert result.exit_code == 0, result.output
    said = " ".join(result.output.split())
    page = saved.read_text(encoding="utf-8")
    for text in (said, re.sub(r"<style>.*?</style>", "", page, flags=re.S)):
        assert not NO_NUMBER.search(text)
        assert "runs on" in text
    assert ("still never stops" if what_if == STICKS else "never stops") in said


@pytest.mark.filterwarnings("error")
def test_a_piece_larger_than_the_opening_has_no_margin_and_says_why(tmp_path: Path) -> None:
    saved = tmp_path / "race.html"
    output = run("race", "curlew", "--piece", "5 m ball", "--save", str(saved)).output
    said = " ".join(output.split())
    assert "No margin: this piece is too large to pass between the rolls" in said
    assert "it cannot pass" in said
    assert "Margin: comes to rest" not in said
    assert "Chance" not in said
    assert "it cannot pass" in saved.read_text(encoding="utf-8")


def test_reach_tells_what_is_invisible_and_why_and_what_an_upside_down_sensor_sees(
    tmp_path: Path,
) -> None:
    machine, saved = load_machine("sanderling"), tmp_path / "reach.html"
    output = run("reach", "sanderling", "--speed", "1 m/s", "--save", str(saved)).output
    said, page = " ".join(output.split()), saved.read_text(encoding="utf-8")
    answer = json.loads(run("reach", "sanderling", "--speed", "1 m/s", "--json").output)
    ball = sensing.upside_down(machine, speed=1.0)
    assert answer["half_turn_smallest_ball_m"] == pytest.approx(ball)
    assert f"would see nothing smaller than a {ball * 1e3:.3g} mm ball" in said
    rows = {row["material"]: row for row in answer["materials"]}
    assert rows["steel"]["of_threshold"] > 1 > rows["stone"]["of_threshold"]
    assert {"heights_m", "smallest_ball_m"} <= set(answer)
    for name, row in rows.items():
        assert f"{percent(min(row['of_steel'], 1.0))}" in said or row["of_steel"] > 1
        assert (f"- {name}: {row['why']}" in said) == (row["of_threshold"] < 1)
        assert row["why"].split(":")[0] in page
    assert "left upside down" in page


def test_reach_compares_materials_where_the_sensor_sees_most_at_mid_height() -> None:
    from tripmargin.cli.beside_reach import Beside

    machine = load_machine("curlew")
    seen = sensing.reach(machine, speed=1.0)
    beside = Beside.of(machine, seen)
    (row,) = [k for k, h in enumerate(seen.heights) if h == beside.height]
    assert beside.height == pytest.approx((seen.heights[0] + seen.heights[-1]) / 2)
    ball = dict(zip(seen.places, seen.smallest_ball[row], strict=True))[beside.x]
    assert ball == seen.smallest_ball[row].min()


def test_prove_without_a_sensor_says_what_is_needed_and_saves_nothing(tmp_path: Path) -> None:
    text = demo_path("sanderling").parent.joinpath("type-wood-chipper.toml").read_text("utf-8")
    head, rest = text.split("[sensor]")
    path = written(tmp_path, head + "[detector]" + rest.split("[detector]")[1])
    saved = tmp_path / "map.svg"
    result = run("prove", str(path), "--save", str(saved))
    assert result.exit_code == 0
    assert "not known" in result.output.splitlines()[0]
    assert "sensor" in result.output
    assert "Nothing saved" in result.output
    assert not saved.exists()


def test_race_prints_stages_that_are_the_librarys_and_a_what_if_moves_them() -> None:
    whimbrel = load_machine("whimbrel")
    axis = protection.race(whimbrel, cut_length=0.017)
    ball = protection.race(whimbrel, cut_length=0.017, piece=sensing.Piece.from_text("20 mm ball"))
    answer = json.loads(run("race", "whimbrel", "--cut", "17 mm", "--json").stdout)
    assert [s["name"] for s in answer["stages"]] == [s.name for s in axis.stages]
    # the machine's own must_stop, and what would become of it tripped only above the axis
    assert answer["margin_m"]["nominal"] == pytest.approx(float(ball.margin or 0))
    assert answer["margin_from_axis_m"]["nominal"] == pytest.approx(float(axis.margin or 0))
    bare = json.loads(run("race", "whimbrel", "--cut", "17 mm", "--from-axis", "--json").stdout)
    assert bare["piece"] is None
    assert bare["margin_m"] == answer["margin_from_axis_m"]
    worn = json.loads(
        run(
            "race",
            "whimbrel",
            "--cut",
            "17 mm",
            "--json",
            "--set",
            'chain.pawls.lower.clearance="9 mm"',
        ).stdout
    )
    assert worn["margin_m"]["nominal"] < answer["margin_m"]["nominal"]


def test_race_speaks_of_its_stages_in_words_and_keeps_their_names_for_programs(
    tmp_path: Path,
) -> None:
    page, table = tmp_path / "race.html", tmp_path / "race.csv"
    for saved in (page, table):
        output = run("race", "curlew", "--save", str(saved)).output
    assert "relay's release" in output
    assert "upper pawl's wait for a tooth" in output
    assert "_" not in output.split("Saved")[0]
    assert "<td>relay" in page.read_text(encoding="utf-8").replace(' class="short"', "")
    assert "relay_release,7.0" in table.read_text(encoding="utf-8")


def test_race_takes_the_longest_cut_on_offer_by_itself() -> None:
    machine = load_machine("whimbrel")
    assert machine.feed is not None
    answer = json.loads(run("race", "whimbrel", "--json").stdout)
    assert answer["cut_length_m"] == machine.feed.cut_lengths[-1]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("race", "whimbrel", "--from-axis", "--x", "3 mm"), "without a piece"),
        (("race", "whimbrel", "--piece", "a blue moon"), "--piece: "),
        (("prove", "whimbrel", "--piece", "ball"), "--piece: "),
        (("prove", "whimbrel", "--cut", "0 mm"), "cut"),
        (("race", "whimbrel", "--cut", "NaN mm"), "not a number"),
        (("race", "whimbrel", "--set", "cutterhead_speed=0 rpm"), "too small"),
    ],
)
def test_what_cannot_be_is_refused_in_plain_words(options: tuple[str, ...], said: str) -> None:
    result = run(*options)
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output


def test_a_picture_that_cannot_be_saved_costs_the_picture_and_not_the_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", str(tmp_path / "x.svg"))

    monkeypatch.setattr("tripmargin.pictures.save_picture", full)
    result = CliRunner().invoke(
        main, ["race", "dunlin", "--from-axis", "--save", str(tmp_path / "x.svg")]
    )
    assert result.exit_code == 2
    assert "Margin: comes to rest" in result.stdout
    assert "No space left on device" in result.stderr
    assert "Saved" not in result.output
    assert list(tmp_path.iterdir()) == []
