"""The played page in German on a phone: what fits, what leaves its frame, what has no width."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.reports.how.conftest import PHONE
from tripmargin.ground.languages import speaking
from tripmargin.machine import load_machine
from tripmargin.reports.how.page import how_page
from tripmargin.sensing import Piece

Fixture = Callable[..., Any]
LOWEST = """() => Math.max(...[...document.querySelectorAll('.panel')]
    .map(each => each.getBoundingClientRect().bottom))"""
NOT_A_NUMBER = """() => [...document.querySelectorAll('svg, svg *')]
    .flatMap(each => [...each.attributes])
    .filter(one => /NaN|undefined|Infinity/.test(one.value)).map(one => one.name)"""
NUMBERS = """() => [...document.querySelectorAll('svg *')].flatMap(each =>
    ['d', 'x', 'y', 'cx', 'cy', 'r', 'width', 'height', 'transform', 'font-size', 'fill-opacity']
        .map(name => each.getAttribute(name) || ''))"""


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The page of one demo machine at its longest cut, by language, and with a way back."""
    made = {}
    for name in ("en", "de", "de, from the yard"):
        with speaking(name[:2]):
            text = how_page(
                load_machine("whimbrel"), cut_length=0.028, piece=Piece.ball(0.02),
                back="/machines/" if "yard" in name else "",
            )  # fmt: skip
        made[name] = tmp_path_factory.mktemp("how") / "page.html"
        made[name].write_text(text, "utf-8")
    return made


def at(page: Any, share: float) -> None:
    page.evaluate("s => theHow.go(theHow.begins + s * (theHow.ends - theHow.begins))", share)


@pytest.mark.parametrize("language", ["en", "de", "de, from the yard"])
@pytest.mark.parametrize("what", ["metal", "lost"])
def test_the_bar_covers_no_panel_of_a_phone(
    opened: Fixture, pages: dict[str, Path], language: str, what: str
) -> None:
    page = opened(PHONE, pages[language])
    page.locator(f"input[value={what}]").check()
    page.evaluate("scrollTo(0, 0)")
    for share in (0.0, 0.3, 0.45, 0.6, 0.75, 0.9, 1.0):
        at(page, share)
        if page.evaluate("new Set(theHow.state.pawls.map(each => each.doing)).size") > 1:
            continue  # for some ms each pawl needs words of its own
        bar = page.locator(".bar").bounding_box()
        assert page.evaluate(LOWEST) <= bar["y"] + 0.5, (share, language)


def test_what_leaves_its_frame_is_broken_off_and_pointed_at(opened: Fixture) -> None:
    page = opened(PHONE)
    at(page, 1.0)
    beyond = page.locator("[data-panel=voltage] [data-part=beyond]")
    curve = page.locator("[data-panel=voltage] path.curve")
    volts = page.evaluate("theHow.stop.line.voltage.v")
    most = page.evaluate("4 * theHow.stop.line.voltage.threshold")
    sides = [(v > most) - (v < -most) for v in volts]
    runs = [one for k, one in enumerate(sides) if one and (k == 0 or sides[k - 1] != one)]
    assert runs  # this piece goes beyond the frame
    tips = [float(y) for y in re.findall(r"L[\d.]+ ([\d.]+)L", beyond.get_attribute("d"))]
    high = page.evaluate("theHow.panels[0].tall")
    assert {y < high / 2 for y in tips} == {one > 0 for one in runs}
    pieces = curve.get_attribute("d").split("M")[1:]
    assert len(pieces) == len(runs) + (sides[0] == 0) - (sides[-1] != 0)
    for piece in pieces:  # nothing runs along the edge
        heights = [float(y) for y in re.findall(r"[\d.]+ ([\d.]+)", piece)]
        on_edge = [y < 3.01 or y > high - 3.01 for y in heights]
        assert not any(one and other for one, other in pairwise(on_edge))
    assert "arrowheads: beyond it" in page.locator("[data-panel=voltage] .note").inner_text()
    at(page, 0.0)
    assert beyond.get_attribute("d") == ""


def test_a_page_without_a_width_is_drawn_in_numbers(
    opened: Fixture, pages: dict[str, Path]
) -> None:
    page = opened(PHONE, pages["de"])
    for what in ("alone", "beside"):
        page.locator(f"input[name=beside][value={what}]").check()
        page.locator("[data-group=magnet] input").first.check()
        page.evaluate("""() => {
            document.getElementById('page').hidden = true; // as in a window that nobody sees
            dispatchEvent(new Event('resize'));
            document.getElementById('page').hidden = false;
        }""")
        for share in (0.0, 0.5, 1.0):
            at(page, share)
            assert page.evaluate(NOT_A_NUMBER) == []
    assert page.aloud == []


def test_a_drawing_has_points_where_a_program_reads_it(
    opened: Fixture, pages: dict[str, Path]
) -> None:
    page = opened(PHONE, pages["de"])
    for share in (0.0, 0.6, 1.0):
        at(page, share)
        assert [one for one in page.evaluate(NUMBERS) if "," in one] == []
    assert re.fullmatch(r"[−\d]+,\d ms", page.locator("#clock").inner_text())
    assert "Von vorn abspielen" in page.locator(".ended").inner_text()


@pytest.mark.parametrize("language", ["en", "de"])
def test_names_under_the_path_do_not_run_into_one_another(
    opened: Fixture, pages: dict[str, Path], language: str
) -> None:
    page = opened(PHONE, pages[language])
    boxes = page.eval_on_selector_all(
        ".path text.name", "all => all.map(each => each.getBoundingClientRect().toJSON())"
    )
    lowest = max(box["y"] for box in boxes if box["width"])
    row = sorted((b["left"], b["right"]) for b in boxes if b["y"] > lowest - 3 and b["width"])
    assert len(row) == 3
    for (_, ends), (begins, _) in pairwise(row):
        assert ends <= begins + 1
