"""The played page in front of a class: what stays in sight, what the keys do, what is told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.reports.how.conftest import PHONE, PROJECTOR
from tripmargin.cli.main import main
from tripmargin.machine import load_machine
from tripmargin.pictures.words import chance
from tripmargin.protection import race
from tripmargin.reports.how.data import how_data
from tripmargin.reports.how.page import how_page
from tripmargin.reports.how.placing import require_place
from tripmargin.sensing import Piece

Fixture = Callable[..., Any]
BALL = Piece.ball(0.02)
WALL, LOW_WALL = (1920, 1080), (1280, 720)
LAW = "Power holds the pawls out; a spring throws them in. So any loss of power stops the feed."
SEEN = """names => names.flatMap(name => [...document.querySelectorAll(name)])
    .filter(each => each.offsetParent !== null)
    .map(each => each.getBoundingClientRect().toJSON())"""


@pytest.fixture(scope="module")
def dunlin_middle(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Dunlin's blind middle, as the command writes it."""
    path = tmp_path_factory.mktemp("how") / "middle.html"
    args = ["show", "dunlin", "--x", "0 mm", "--height", "30 mm", "--save", str(path)]
    made = CliRunner().invoke(main, args)
    assert made.exit_code == 0, made.output
    return path


@pytest.mark.parametrize("size", [WALL, (1536, 864), PROJECTOR, LOW_WALL])
def test_what_is_picked_moves_nothing_off_the_wall(
    opened: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = opened(size)
    page.get_by_label("two feeds").check()
    for words in ("130 %: 0.494 T", "twice", "worst of 20"):
        page.get_by_label(words).check()  # scrolled to where it is
        page.keyboard.press("End")
        no_sideways(page)
        parts = [".path", ".panel", ".bar", ".verdict", "#result", "#story", ".chips"]
        for box in page.evaluate(SEEN, parts):
            assert box["top"] >= -0.5
            assert box["bottom"] <= size[1] + 0.5
        bar = page.locator(".bar").bounding_box()
        assert max(b["bottom"] for b in page.evaluate(SEEN, [".panel"])) <= bar["y"] + 0.5
    top = page.locator(".top label").last.bounding_box()
    side = page.locator(".side").bounding_box()
    assert top["x"] + top["width"] <= side["x"]


def test_after_a_choice_by_pointer_the_keys_move_the_clock(opened: Fixture) -> None:
    page = opened()
    page.locator("label", has_text="Power lost").click()
    begins = page.evaluate("theHow.t")
    page.keyboard.press("ArrowRight")
    assert page.get_by_label("Power lost").is_checked()
    assert page.evaluate("theHow.t") == pytest.approx(begins + 1e-3, abs=1e-9)
    page.keyboard.press("Space")
    assert page.evaluate("theHow.playing")
    page.keyboard.press("Space")
    # Who comes by keys still picks with them.
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowLeft")
    assert page.get_by_label("Metal comes").is_checked()


@pytest.mark.parametrize("size", [PHONE, WALL])
def test_why_a_loss_of_power_stops_the_feed_is_told_large(
    opened: Fixture, size: tuple[int, int]
) -> None:
    page = opened(size)
    law = page.locator(".law")
    assert not law.is_visible()
    page.get_by_label("Power lost").check()
    assert law.inner_text() == LAW
    letters, body = (
        page.eval_on_selector(one, "e => parseFloat(getComputedStyle(e).fontSize)")
        for one in (".law", ".soft")
    )
    assert letters > body


def test_no_law_is_told_where_the_spring_does_not_win(tmp_path: Path, opened: Fixture) -> None:
    stuck = load_machine("curlew").with_settings({"chain.plunger.parts.spring_force": 1.0})
    path = tmp_path / "stuck.html"
    path.write_text(how_page(stuck, cut_length=0.005, piece=BALL), "utf-8")
    page = opened(path=path)
    page.get_by_label("Power lost").check()
    assert not page.locator(".law").is_visible()


def test_the_chance_is_the_races_for_what_is_set(opened: Fixture) -> None:
    machine = load_machine("whimbrel")
    page, odds = opened(), "[data-part=odds]"
    told = [("as it is: 4.4 mm and 4.7 mm", 0.028, {}), ("5 mm", 0.005, {})]
    told += [("twice: 8.8 mm", 0.028, {"clearance": {"lower": 0.0088, "upper": 0.0094}})]
    told += [("70 %", 0.028, {"sensor.assemblies.0.magnet.remanence": 0.266,
                              "sensor.assemblies.1.magnet.remanence": 0.266})]  # fmt: skip
    told += [("worst of 20", 0.028, {})]
    for words, cut, settings in told:
        page.get_by_label(words).first.check()
        run = race(machine, cut_length=cut, piece=BALL, **settings)
        said = page.locator(odds).inner_text()
        assert f"goes through: {chance(run.probability_through)}." in said, words
        assert "x \u2212188 mm, height 47.5 mm" in said  # of the race's own place
        assert "tripmargin prove" in said
    page.get_by_label("Power lost").check()
    assert not page.locator(odds).is_visible()  # no metal, no chance


def test_the_blind_middle_is_played(opened: Fixture, dunlin_middle: Path) -> None:
    page = opened(WALL, dunlin_middle)
    assert "It comes over the roll's middle, 30 mm above the roll." in (
        page.locator(".lead").inner_text()
    )
    page.keyboard.press("End")
    assert "goes to the knives" in page.locator("#result").inner_text()
    assert "at the knives" in page.locator("[data-panel=voltage] .value").inner_text()
    run = race(load_machine("dunlin"), cut_length=0.019, piece=BALL, x=0.0, height=0.03)
    assert run.margin is None
    assert page.evaluate("theHow.stop.line.caught") is False
    # Dunlin's magnets end 27 mm from the middle (its file): none is drawn as if it lay there.
    assert page.locator("[data-part='flux lines'] path").count() == 0
    assert page.locator(".block.magnet:not(.guessed)").count() == 0
    seen = page.locator("main").inner_text()
    assert "Stones and wood it does not see at all" in seen
    assert "tripmargin reach" in seen


def test_another_place_is_the_races(tmp_path: Path) -> None:
    machine = load_machine("curlew")
    data = how_data(machine, cut_length=0.022, piece=BALL, x=0.1, height=0.06)
    run = race(machine, cut_length=0.022, piece=BALL, x=0.1, height=0.06)
    line = data["variants"]["base"]["metal"]
    assert line["margin"] == pytest.approx(run.margin.nominal, abs=1e-9)
    assert "100 mm right of the roll's middle, 60 mm above the roll" in line["lead"]


@pytest.mark.parametrize(
    ("option", "value", "why"),
    [
        ("--x", "400 mm", "lies beside the roll. Allowed: \u2212305 mm to 305 mm"),  # 610 mm wide
        ("--height", "90 mm", "no crop comes. Allowed: 0 mm to 70 mm"),  # the crop's own height
        ("--x", "4", "--x"),
    ],
)
def test_a_place_where_nothing_comes_is_refused(
    tmp_path: Path, option: str, value: str, why: str
) -> None:
    path = tmp_path / "no.html"
    made = CliRunner().invoke(main, ["show", "dunlin", option, value, "--save", str(path)])
    assert made.exit_code != 0
    assert why in " ".join(made.output.split())
    assert not path.exists()


def test_a_place_is_not_refused_where_the_file_does_not_know() -> None:
    require_place(load_machine("dunlin"), None, None)
    require_place(load_machine("dunlin"), -0.305, 0.0)
