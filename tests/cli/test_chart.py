"""`tripmargin chart`: what it prints, saves and refuses."""

from __future__ import annotations

import csv
import json
from functools import lru_cache
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tripmargin.cli.main import main
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.machine import digest_of, load_machine


def run(*args: str) -> Result:
    result = CliRunner().invoke(main, ["chart", *args])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result


@lru_cache(maxsize=4)
def words(*args: str) -> str:
    return " ".join(run(*args).output.split())


def test_the_summary_opens_with_cautions_then_silent_faults_then_steps() -> None:
    said = words("dunlin")
    order = [
        "Engine off, key out",
        "what no lamp or buzzer tells",
        "What each check shows",
        "the steps, by complaint",
        "Faults that look the same",
        "Failure modes and effects",
    ]
    assert [said.index(each) for each in order] == sorted(said.index(each) for each in order)
    assert "the plunger's spring is weak: metal stopped late" in said


def test_one_complaint_prints_all_its_steps(tmp_path: Path) -> None:
    saved = tmp_path / "dead.csv"
    said = words("dunlin", "--complaint", "dead", "--save", str(saved))
    with saved.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    steps = {row["step"] for row in rows}
    assert {row["complaint"] for row in rows} == {"dead"}
    assert all(row["do"] in said for row in rows)
    assert len(steps) > 10


@pytest.mark.parametrize("part", ["coverage", "alike", "fmea"])
def test_a_part_is_printed_and_saved_alone(tmp_path: Path, part: str) -> None:
    saved = tmp_path / f"{part}.svg"
    made = json.loads(run("dunlin", "--part", part, "--json", "--save", str(saved)).stdout)
    assert set(made) == {"machine_name", part}
    assert saved.read_text(encoding="utf-8").startswith("<svg")


def test_the_page_holds_contents_then_cautions_then_everything(tmp_path: Path) -> None:
    saved = tmp_path / "chart.html"
    assert run("dunlin", "--save", str(saved)).exit_code == 0
    page = saved.read_text(encoding="utf-8")
    assert page.index("Block the feed rolls") < page.index("<h2>Contents</h2>")
    assert page.index("</nav>") < page.index('class="step')
    for title in ("leave every lamp and buzzer healthy", "What nothing shows", "Detection, D"):
        assert title in page
    contents = page[page.index("<nav") : page.index("</nav>")]
    for complaint in COMPLAINTS:
        assert complaint in contents
    # Dunlin's rolls are reversed by hand: no wire of it has to do with reversing alone.
    none = "no listed fault of this machine leads to it, so there is no page for it."
    assert f"<b>will not reverse</b> (The rolls do not reverse): {none}" in contents
    assert contents.count(none) == 1
    daily = page[page.index("The daily test, after every repair</h2>") :]
    assert daily.index("nobody within reach of rolls") < daily.index("<li>1. ")
    foot = f"Dunlin, machine file {digest_of(load_machine('dunlin'))[:12]}"
    assert f'@bottom-left {{ content: "{foot}";' in page


def test_one_complaint_on_a_page_does_not_call_the_others_missing(tmp_path: Path) -> None:
    saved = tmp_path / "dead.html"
    run("dunlin", "--complaint", "dead", "--save", str(saved))
    page = saved.read_text(encoding="utf-8")
    assert "there is no page for it" not in page
    assert 'id="s1-1"' in page


def test_a_lone_table_is_a_page_without_steps(tmp_path: Path) -> None:
    saved = tmp_path / "alike.html"
    run("dunlin", "--part", "alike", "--save", str(saved))
    page = saved.read_text(encoding="utf-8")
    assert "<h2>1&ensp;Faults that look the same from outside</h2>" in page
    assert 'class="step' not in page


def test_a_step_with_a_fault_says_what_differs(tmp_path: Path) -> None:
    saved = tmp_path / "step.svg"
    said = words("whimbrel", "--step", "armed", "--fault", "K1:welded", "--save", str(saved))
    assert "Different from a sound machine: " in said
    assert "hold powered on, not off" in said
    assert saved.read_text(encoding="utf-8").startswith("<svg")


def test_a_step_alone_shows_a_sound_machine() -> None:
    made = json.loads(run("whimbrel", "--step", "metal", "--json").stdout)
    assert (made["step"], made["fault"], made["differs"]) == ("metal", None, [])


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["--fault", "W3:open"], "--fault goes with --step"),
        (["--step", "armed", "--part", "fmea"], "leave --complaint and --part out"),
        (["--complaint", "dead", "--part", "fmea"], "leave --part out"),
        (["--complaint", "it smells"], "Complaints: dead"),
        (["--complaint", "feed stay stopped"], 'Did you mean "feed stays stopped"?'),
        (["--step", "amred"], 'Did you mean "armed"?'),
        (["--step", "armed", "--fault", "W3:opn"], 'Did you mean "W3:open"?'),
    ],
)
def test_what_cannot_be_is_refused_in_plain_words(args: list[str], said: str) -> None:
    result = run("whimbrel", *args)
    assert result.exit_code == 2
    assert said in " ".join(result.output.split())
