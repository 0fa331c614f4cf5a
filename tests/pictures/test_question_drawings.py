"""The small drawings beside the questions: one for each that is asked, whole, legible, on paper."""

from __future__ import annotations

import re

import pytest

from tests.pictures.reading import SVG, colours, outside_page, overlaps, root_of, size_of, texts
from tripmargin.machine.asking import Answers
from tripmargin.pictures.look import DAY, SUN
from tripmargin.pictures.question_drawings import DRAWN, NOT_DRAWN, question_drawing

QUESTIONS = [question.name for question in Answers().questions()]
ASKED_WITH_ONE = [name for name in QUESTIONS if name not in NOT_DRAWN]


def drawn(name: str, sun: bool = False) -> str:
    svg = question_drawing(name, sun=sun)
    assert svg is not None, name
    return svg


def extents(svg: str) -> list[tuple[float, float, float, float]]:
    """Left, top, right, bottom of every shape outside a pattern, half its line's width added."""
    found, root = [], root_of(svg)
    inside = {id(node) for pattern in root.iter(f"{SVG}pattern") for node in pattern.iter()}
    for node in root.iter():
        if id(node) in inside or node.get("width") == "100%":
            continue
        kind, at = node.tag.removeprefix(SVG), node.attrib
        if kind == "path":
            pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", at["d"])
            xs, ys = [float(x) for x, _ in pairs], [float(y) for _, y in pairs]
        elif kind == "rect":
            xs = [float(at["x"]), float(at["x"]) + float(at["width"])]
            ys = [float(at["y"]), float(at["y"]) + float(at["height"])]
        elif kind == "circle":
            x, y, r = (float(at[key]) for key in ("cx", "cy", "r"))
            xs, ys = [x - r, x + r], [y - r, y + r]
        else:
            assert kind in ("svg", "title", "desc", "defs", "pattern", "text"), kind
            continue
        half = float(at.get("stroke-width", 0)) / 2 if at.get("stroke", "none") != "none" else 0.0
        found.append((min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half))
    return found


def test_every_field_that_is_asked_has_a_drawing_or_a_reason_for_none():
    assert len(QUESTIONS) == 24
    assert [name for name in QUESTIONS if question_drawing(name) is None] == list(NOT_DRAWN)
    assert all(NOT_DRAWN.values())


def test_no_drawing_is_for_a_field_that_nobody_asks():
    names = {n.rpartition(".")[2] if n.startswith("chain.pawls.") else n for n in QUESTIONS}
    assert set(DRAWN) | set(NOT_DRAWN) == names


@pytest.mark.parametrize("name", ["", "feed", "feed.width", "clearance", "chain.pawls.lower.name"])
def test_what_is_no_question_has_no_drawing(name):
    assert question_drawing(name) is None


@pytest.mark.parametrize("name", ASKED_WITH_ONE)
def test_it_lies_on_its_sheet_whole(name):
    svg = drawn(name)
    assert size_of(svg) == (240, 150)
    assert outside_page(svg) == []
    out = [box for box in extents(svg) if min(box[:2]) < 0 or box[2] > 240 or box[3] > 150]
    assert out == []


@pytest.mark.parametrize("name", ASKED_WITH_ONE)
def test_its_letters_can_be_read(name):
    svg = drawn(name)
    assert overlaps(svg) == []
    assert all(text.size >= 11 for text in texts(svg))


@pytest.mark.parametrize("sun", [False, True])
@pytest.mark.parametrize("name", ASKED_WITH_ONE)
def test_it_keeps_to_the_look_and_marks_what_is_asked_in_the_accent(name, sun):
    look, svg = (SUN, DAY)[not sun], drawn(name, sun)
    assert colours(svg) <= {look.paper, look.ink, look.soft, look.accent}
    accents = [n for n in root_of(svg).iter() if look.accent in (n.get("stroke"), n.get("fill"))]
    strong = [n for n in accents if float(n.get("stroke-width", 0)) >= 1.8]
    assert strong, "nothing is marked with a line heavier than the parts"


@pytest.mark.parametrize("name", ASKED_WITH_ONE)
def test_a_screen_reader_is_told_what_it_shows(name):
    root = root_of(drawn(name))
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    assert len(desc.text or "") > 40


def test_many_on_one_page_do_not_share_an_id():
    ids = [n.get("id") for name in ASKED_WITH_ONE for n in root_of(drawn(name)).iter()]
    named = [i for i in ids if i is not None]
    assert len(named) == len(set(named))


def test_a_pawl_may_have_any_name():
    svg = drawn('chain.pawls.<b>"front.left"&.clearance')
    title = root_of(svg).find(f"{SVG}title")
    assert title is not None
    assert title.text == 'Drawing: clearance of the pawl <b>"front.left"&'


@pytest.mark.parametrize("name", ASKED_WITH_ONE)
def test_nothing_in_it_needs_an_inline_style_or_a_script(name):
    svg = drawn(name)
    assert "style=" not in svg
    assert "<script" not in svg
    assert not re.search(r"\son\w+=", svg)
