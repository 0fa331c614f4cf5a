"""The page that plays a stop, in a real browser with the network cut."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.reports.how.conftest import PHONE, PROJECTOR, SMALL
from tests.reports.how.test_how_data import due
from tests.web.browser.targets import too_small
from tripmargin.cli.main import main
from tripmargin.machine import load_machine
from tripmargin.protection import Race, race
from tripmargin.reports.how.page import how_page
from tripmargin.reports.one_file import MOST
from tripmargin.sensing import Piece

Fixture = Callable[..., Any]


@pytest.fixture(scope="module")
def raced() -> Race:
    return race(load_machine("whimbrel"), cut_length=0.028, piece=Piece.ball(0.02))


def chips(page: Any) -> dict[str, str]:
    return dict(
        page.eval_on_selector_all(
            "[data-chip]", "all => all.map(c => [c.dataset.chip, c.innerText])"
        )
    )


def go(page: Any, t: float) -> None:
    page.evaluate("t => theHow.go(t)", t)


def test_it_is_one_small_file_that_asks_for_nothing(opened: Fixture, whimbrel_page: Path) -> None:
    assert whimbrel_page.stat().st_size < MOST
    page = opened()
    page.get_by_role("button", name="Play", exact=True).click()
    page.wait_for_function("() => theHow.t >= theHow.stop.line.ends")
    assert page.asked == [whimbrel_page.as_uri()]
    assert page.aloud == []


def test_nothing_but_its_own_script_may_run(opened: Fixture) -> None:
    page = opened()
    page.evaluate("""() => {
        const one = document.createElement("script");
        one.textContent = "globalThis.foreign = true";
        document.body.append(one);
    }""")
    assert page.evaluate("globalThis.foreign") is None
    assert any("Content Security Policy" in said for said in page.aloud)


def test_each_instant_shows_the_state_told_for_it(opened: Fixture, raced: Race) -> None:
    page, at = opened(), due(raced)
    parts = ("trip", "winding", "pawls", "rolls")
    told = [
        (-0.001, "Trip not latched", "Winding holds", "Pawls held out", "Rolls turn"),
        (at["decision_delay"], "Trip latched", "Winding holds", "Pawls held out", "Rolls turn"),
        (at["relay_release"], "Trip latched", "Winding dies", "Pawls held out", "Rolls turn"),
        (at["release"], "Trip latched", "Winding let go", "Pawls held out", "Rolls turn"),
        (at["plunger"], "Trip latched", "Winding let go", "Pawls swing", "Rolls turn"),
        (
            at["swing upper"],
            "Trip latched",
            "Winding let go",
            "Pawls wait for a tooth",
            "Rolls turn",
        ),
        (at["tooth upper"], "Trip latched", "Winding let go", "Pawls caught", "Rolls slow down"),
        (at["rest"], "Trip latched", "Winding let go", "Pawls caught", "Rolls stand"),
    ]
    for t, *words in told:
        go(page, t)
        assert chips(page) == dict(zip(parts, words, strict=True))
    go(page, at["relay_release"] - 1e-6)
    assert "holds" in chips(page)["winding"]
    value = page.locator("[data-panel=current] .value")
    assert value.inner_text() == "1.13 A"  # 13.6 V over 12 ohm, Ohm's law
    go(page, at["release"])
    assert value.inner_text() == "0.40 A"  # the file's release_current


def test_the_metal_is_where_the_race_has_it(opened: Fixture, raced: Race) -> None:
    page = opened()
    shown = page.evaluate("times => times.map(t => theHow.stop.place(t))", raced.times.tolist())
    assert shown == pytest.approx(raced.position.tolist(), abs=1e-4)
    # And drawn there: the piece's middle, px, between the sensor's axis and the shear bar.
    go(page, due(raced)["rest"])
    drawn = page.evaluate("""() => {
        const middle = (part) => {
            const box = document.querySelector(`[data-part="${part}"]`).getBoundingClientRect();
            return box.x + box.width / 2;
        };
        return (middle("shear bar") - middle("piece")) / theHow.path.scale;
    }""")
    assert drawn == pytest.approx(
        raced.margin.nominal, abs=5e-4
    )  # half a millimetre: a px is 0.7 mm
    assert "58 mm to spare" in page.locator("[data-part=here]").text_content()


def test_power_lost_stops_the_rolls_without_a_trip(opened: Fixture) -> None:
    page = opened()
    page.get_by_label("Power lost").check()
    go(page, page.evaluate("theHow.stop.line.ends"))
    assert chips(page)["trip"] == "Trip not latched"
    assert chips(page)["rolls"] == "Rolls stand"
    assert not page.locator("[data-part=piece]").is_visible()
    assert "no trip was latched" in page.locator("#result").inner_text()


def test_the_keyboard_moves_plays_and_leaps(opened: Fixture, raced: Race) -> None:
    page, at = opened(), due(raced)
    page.locator("#when").focus()
    page.keyboard.press("PageDown")
    assert page.evaluate("theHow.t") == pytest.approx(0.0, abs=1e-12)
    page.keyboard.press("ArrowRight")
    assert page.locator("#clock").inner_text() == "1.0 ms"
    page.keyboard.press("Shift+ArrowLeft")
    assert page.locator("#clock").inner_text() == "0.9 ms"
    page.keyboard.press("PageDown")
    assert page.evaluate("theHow.t") == pytest.approx(at["decision_delay"], abs=1e-9)
    page.keyboard.press("End")
    assert chips(page)["rolls"] == "Rolls stand"
    page.keyboard.press("Home")
    page.keyboard.press("Space")
    page.wait_for_function("() => theHow.t > 0")
    page.keyboard.press("Space")
    assert page.get_by_role("button", name="Play", exact=True).is_visible()
    page.locator("#when").fill("20000")  # as a thumb that drags it
    assert page.locator("#clock").inner_text() == "20.0 ms"
    assert "The relay opens" in page.locator("#when").get_attribute("aria-valuetext")


def test_it_plays_as_slow_as_was_picked_and_never_by_itself(opened: Fixture) -> None:
    page = opened(reduced_motion="reduce")
    begins = page.evaluate("theHow.t")
    page.wait_for_timeout(300)
    assert page.evaluate("theHow.t") == begins
    page.get_by_label("1/100 of true speed").check()
    page.get_by_role("button", name="Play", exact=True).click()
    page.wait_for_function("begins => theHow.t > begins", arg=begins)
    one = page.evaluate("() => [performance.now(), theHow.t]")
    page.wait_for_timeout(1000)
    other = page.evaluate("() => [performance.now(), theHow.t]")
    assert (other[1] - one[1]) * 1e3 == pytest.approx((other[0] - one[0]) / 100, rel=0.15)


def test_a_setting_changes_the_stop_and_says_what_it_was(opened: Fixture) -> None:
    page = opened()
    twice = race(
        load_machine("whimbrel"),
        cut_length=0.028,
        piece=Piece.ball(0.02),
        clearance={"lower": 0.0088, "upper": 0.0094},
    )
    page.get_by_label("twice: 8.8 mm and 9.4 mm").check()
    assert page.evaluate("theHow.stop.line.margin") == pytest.approx(twice.margin.nominal, abs=1e-9)
    said = page.locator("#result").inner_text()
    assert "33 mm before the shear bar" in said
    assert "As it is: The metal stands 58 mm" in said
    page.get_by_role("button", name="Play from the start").click()
    assert page.locator(".path").first.bounding_box()["y"] >= 0  # with the picture in sight again
    page.wait_for_function("() => theHow.t > 0")
    page.get_by_label("5 mm", exact=True).check()
    assert not page.evaluate("theHow.playing")
    assert "5 mm cut" in page.locator(".lead").inner_text()
    assert page.get_by_label("as it is: 4.4 mm and 4.7 mm").is_checked()
    assert page.evaluate("Object.keys(theHow.data.variants).length") == 13


def test_a_phone_goes_back_to_the_picture(opened: Fixture) -> None:
    page = opened(PHONE)
    page.get_by_role("button", name="Play from the start").click()
    assert page.evaluate("scrollY") == 0


@pytest.mark.parametrize("size", [SMALL, PHONE, PROJECTOR], ids=["small", "phone", "projector"])
def test_every_screen_is_without_barriers(
    opened: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = opened(size)
    for t in ("theHow.stop.line.begins", "0.02", "theHow.stop.line.ends"):
        page.evaluate(f"theHow.go({t})")
        no_sideways(page)
    no_barrier(page)
    page.get_by_role("button", name="Sun mode").click()
    page.get_by_label("Power lost").check()
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []


@pytest.mark.parametrize("kind", ["bare", "stuck", "unseen"])
def test_odd_machines_play_too(opened: Fixture, tmp_path: Path, kind: str) -> None:
    machine, piece = load_machine("curlew"), Piece.ball(0.003 if kind == "unseen" else 0.02)
    if kind == "bare":
        machine = replace(machine, circuit=None, checks=None, sensor=None)
    elif kind == "stuck":
        machine = machine.with_settings({"chain.plunger.parts.spring_force": 1.0})
    path = tmp_path / f"{kind}.html"
    path.write_text(how_page(machine, cut_length=0.005, piece=piece), "utf-8")
    page = opened(PHONE, path)
    for what in ("Power lost", "Metal comes"):
        page.get_by_label(what).check()
        go(page, page.evaluate("theHow.stop.line.ends"))
    assert page.aloud == []
    if kind != "bare":  # nothing slows it: the rolls turn, and it is at the knives
        assert page.locator("[data-panel=voltage] .value").inner_text() == "at the knives"
    assert chips(page)["rolls"] == ("Rolls stand" if kind == "bare" else "Rolls turn")
    assert page.locator("[data-part=here]").is_visible() == (kind == "bare")


def test_the_command_writes_it_and_refuses_what_is_no_page(tmp_path: Path) -> None:
    path = tmp_path / "dunlin.html"
    made = CliRunner().invoke(
        main, ["show", "dunlin", "--cut", "9mm", "--piece", "20 mm ball", "--save", str(path)]
    )
    assert made.exit_code == 0, made.output
    assert "This protects" in path.read_text("utf-8")
    refused = CliRunner().invoke(main, ["show", "dunlin", "--save", str(tmp_path / "dunlin.pdf")])
    assert refused.exit_code == 2
    assert "Allowed: a name that ends in .html" in refused.output


def test_two_feeds_run_on_one_clock(open_file: Fixture, tmp_path: Path) -> None:
    before = load_machine("whimbrel")
    weak = {"sensor.assemblies.0.magnet.remanence": 0.25}
    after = before.with_settings({"clearance": 0.009, **weak})
    path = tmp_path / "two.html"
    ball = Piece.ball(0.02)
    text = how_page(after, cut_length=0.028, piece=ball, before=before, back="/machines/x/how/")
    path.write_text(text, "utf-8")
    runs = [race(one, cut_length=0.028, piece=ball) for one in (after, before)]
    for size in (PHONE, PROJECTOR):
        page = open_file(path, size)
        assert page.get_by_role("link", name="Back to Whimbrel").get_attribute("href") == (
            "/machines/x/how/"
        )
        # Above the sensor's axis at one instant, though they are caught at two places.
        starts = [run.crossing_y for run in runs]
        assert abs(starts[0] - starts[1]) > 1e-3
        over = -starts[0] / runs[0].metal_speed
        go(page, over)
        places = page.evaluate(
            "t => [theHow.stop.place(t), theHow.beside.stop.place(t - theHow.beside.shift)]", over
        )
        assert places == pytest.approx([0, 0], abs=1e-9)
        assert page.locator(".verdict").inner_text() == ""
        page.keyboard.press("End")
        gap = runs[1].margin.nominal - runs[0].margin.nominal
        assert f"Above, {gap * 1e3:.0f} mm less is left than below." in (
            page.locator(".verdict").inner_text()
        )
        assert page.locator(".below [data-part=here]").text_content().startswith("HERE")
        page.get_by_label("one feed").check()
        assert not page.locator(".below").is_visible()
        assert page.evaluate("document.documentElement.scrollWidth") == size[0]
        assert too_small(page) == []


def test_any_picked_setting_can_stand_beside(opened: Fixture) -> None:
    page = opened()
    page.get_by_label("two feeds").check()
    assert "Pick a setting below" in page.locator("[data-group=beside]").inner_text()
    page.get_by_label("twice").check()
    page.keyboard.press("End")
    assert "less is left than below" in page.locator(".verdict").inner_text()
    assert page.get_by_text("Below: the machine as it is.").is_visible()


def test_a_page_in_inches_from_the_command_line(tmp_path: Path, opened: Fixture) -> None:
    path = tmp_path / "us.html"
    args = ["show", "whimbrel", "--us", "--set", "clearance=9 mm", "--save", str(path)]
    assert CliRunner().invoke(main, args).exit_code == 0
    page = opened(path=path)
    page.keyboard.press("End")
    seen = page.locator("main").inner_text()
    assert "metal, in" in seen
    assert "in to spare" in page.locator("[data-part=here]").first.text_content()
    assert "in less is left than below" in page.locator(".verdict").inner_text()
