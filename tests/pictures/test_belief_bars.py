"""The next card and the belief bars as a picture."""

from __future__ import annotations

import pytest

from tests.pictures.reading import SVG, colours, outside_page, overlaps, root_of, texts, words_of
from tripmargin.pictures.belief_bars import (
    BOX,
    ROW,
    Bar,
    CardText,
    bars_table,
    case_picture,
    percent_words,
)
from tripmargin.pictures.look import DAY, SUN

BARS = [
    Bar("D, output trip out: output never switches on", 0.62, "Replace the module: 35 min"),
    Bar("frame: ground joint corroded, 2 ohm", 0.3, "Clean and tighten it: 15 min, parts 2"),
    Bar("something that is not listed", 0.004),
]
CARD = CardText(
    "A MODULE, REPLACED WHOLE. Chance that it cures: 62 %. Price of parts: 740. Work: 35 min.",
    ["Engine off, key out, everything at rest.", "Block the feed rolls before hands go near."],
    ["Engine off. Drive lever to reverse and back to neutral."],
    "Replace the detector module: D. Where: feed housing, right.",
    "What did the daily test show?",
    ["passed", "failed, which may need a sentence that is too long for one line on a phone"],
    ["The likeliest is then something else."],
)
STANDS = ["OPEN: the fault is not found yet.", "Left: about 82 min."]


def picture(width: float = 720, *, sun: bool = False, card: CardText | None = CARD) -> str:
    return case_picture("Knot", STANDS, BARS, card, width=width, sun=sun)


def bars_of(svg: str) -> list[tuple[float, float]]:
    """Width of each outline and of the bar in it, px."""
    found = [
        (node.get("fill", ""), float(node.attrib["width"]))
        for node in root_of(svg).iter(f"{SVG}rect")
        if node.get("height") == "16"
    ]
    pairs = zip(found[::2], found[1::2], strict=True)
    return [(outline[1], bar[1]) for outline, bar in pairs]


@pytest.mark.parametrize("width", [280, 360, 720, 1200])
@pytest.mark.parametrize("card", [CARD, None])
def test_nothing_overlaps_or_leaves_the_page(width: float, card: CardText | None) -> None:
    svg = picture(width, card=card)
    assert overlaps(svg) == []
    assert outside_page(svg) == []


@pytest.mark.parametrize("width", [360, 720])
def test_each_bar_is_as_long_as_its_chance(width: float) -> None:
    for bar, (outline, drawn) in zip(BARS, bars_of(picture(width)), strict=True):
        assert drawn / outline == pytest.approx(bar.chance, abs=0.1 / outline + 1e-9)


def test_the_bars_are_hatched_and_say_their_chance() -> None:
    svg = picture()
    assert svg.count('fill="url(#') == len(BARS)
    said = words_of(svg)
    for bar in BARS:
        assert bar.text in said
        assert percent_words(bar.chance) in said


def test_price_and_cautions_stand_above_what_is_to_be_done() -> None:
    at = {text.words: text.top for text in texts(picture(1200))}
    do = next(top for said, top in at.items() if said.startswith("Replace the detector"))
    assert next(top for said, top in at.items() if said.startswith("A MODULE")) < at["CAUTION"] < do
    assert max(text.size for text in texts(picture())) == next(
        text.size for text in texts(picture()) if text.words.startswith("Replace the detector")
    )


def test_an_answer_has_a_row_that_a_gloved_finger_hits() -> None:
    boxes = [
        float(node.attrib["y"])
        for node in root_of(picture(360)).iter(f"{SVG}rect")
        if node.get("height") == f"{BOX:g}"
    ]
    assert len(boxes) == len(CARD.answers)
    assert boxes[1] - boxes[0] >= ROW


def test_in_the_sun_only_the_look_of_the_sun_is_used() -> None:
    assert colours(picture(sun=True)) <= {SUN.paper, SUN.ink, SUN.soft, SUN.accent}
    assert colours(picture()) <= {DAY.paper, DAY.ink, DAY.soft}


def test_the_description_says_the_bars_in_words() -> None:
    description = root_of(picture()).find(f"{SVG}desc")
    assert description is not None
    assert "frame: ground joint corroded, 2 ohm: 30 %" in (description.text or "")


def test_the_table_behind_it_has_every_bar() -> None:
    headers, rows = bars_table(BARS)
    assert headers == ("what it may be", "chance", "its repair")
    assert rows == [(bar.text, bar.chance, bar.repair) for bar in BARS]


@pytest.mark.parametrize("chance", [-0.1, 1.1, float("nan")])
def test_a_chance_outside_0_to_1_is_refused(chance: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        case_picture("Knot", [], [Bar("?", chance)])


def test_words_that_could_be_markup_are_harmless() -> None:
    svg = case_picture("<b>&", ["<script>"], [Bar('"<i>"', 0.5, "&")])
    assert "<script>" not in svg
    assert "<script>" in words_of(svg)
