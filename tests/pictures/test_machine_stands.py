"""The machine as it stands: what was done and seen is drawn, and nothing else."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from tripmargin.pictures.machine_stands import Control, Sign, Stands, description, stands_picture

KEY = Control("key", "on", ("off", "on"))
SHIFT = Control("shift", "forward", ("reverse", "neutral", "forward"))
SVG = "{http://www.w3.org/2000/svg}"


def stands(*signs: Sign, running: bool = True, live: bool = True) -> Stands:
    return Stands("rolls turning", running, live, (KEY, SHIFT), signs)


def texts(svg: str) -> list[str]:
    return [each.text or "" for each in ElementTree.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("sun", [False, True])
@pytest.mark.parametrize("width", [200.0, 320.0, 500.0, 900.0])
def test_every_control_and_sign_is_named_inside_the_picture(width: float, sun: bool) -> None:
    names = [f"lamp number {k}" for k in range(7)]
    signs = [Sign(name, "lamp", "on" if k % 2 else "") for k, name in enumerate(names)]
    svg = stands_picture(stands(*signs), width=width, sun=sun)
    root = ElementTree.fromstring(svg)
    wide, high = float(root.attrib["width"]), float(root.attrib["height"])
    assert 300 <= wide <= 760
    said = " ".join(texts(svg))
    for word in ("key", "on", "shift", "forward", "lamp", "number", "6", "not looked at"):
        assert word in said
    for each in root.iter(f"{SVG}text"):
        assert 0 <= float(each.attrib["x"]) <= wide
        assert 0 <= float(each.attrib["y"]) <= high
        assert float(each.attrib["font-size"]) >= 11
    assert "style=" not in svg


def test_rolls_turn_only_where_they_were_looked_at() -> None:
    def paths(shows: str) -> int:
        svg = stands_picture(stands(Sign("rolls", "movement", shows)))
        return len(list(ElementTree.fromstring(svg).iter(f"{SVG}path")))

    assert paths("forward") == paths("reverse") > paths("") == paths("stopped")
    assert stands_picture(stands(Sign("rolls", "movement", "forward"))) != stands_picture(
        stands(Sign("rolls", "movement", "reverse"))
    )


def test_what_was_not_looked_at_is_dashed_and_says_so() -> None:
    unseen = stands(Sign("trip latched", "lamp"), Sign("relay at rest", "buzzer", "sounds"))
    assert stands_picture(unseen).count("stroke-dasharray") == 1
    assert description(unseen) == (
        "The engine runs: nobody within reach. key: on. shift: forward."
        " trip latched: not looked at. relay at rest: sounds."
    )


def test_blocks_stand_between_the_rolls_only_at_rest() -> None:
    at_rest = stands_picture(stands(running=False, live=False))
    assert "Engine off, key out, feed rolls blocked." in at_rest
    assert "nobody within reach" in stands_picture(stands())
    for svg in (stands_picture(stands(running=False)), stands_picture(stands())):
        assert "blocked" not in svg


def test_whatever_a_file_calls_its_parts_is_text() -> None:
    svg = stands_picture(stands(Sign('<script>"&', "lamp", "<b>")))
    ElementTree.fromstring(svg)
    assert "<script>" not in svg
