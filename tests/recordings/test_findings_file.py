"""A findings file: read whole or refused whole, with every mistake in its line; added to safely."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

import tripmargin
from tripmargin.recordings.calibrating import (
    FindingsError,
    MetalFound,
    PeakRead,
    StopMeasured,
    TestPass,
    append_finding,
    read_findings,
)
from tripmargin.recordings.calibrating.findings_beside import own_pieces, when_and_who
from tripmargin.recordings.calibrating.next_piece import as_passed
from tripmargin.sensing import Piece
from tripmargin.stopping import metal_speed

GOOD = """\
[[pass]]
piece = "20 mm ball"
across = "100 mm"
height = "4 cm"
cut = "8 mm"
caught = true
by = "A. Reed"
[[peak]]
piece = "M8x30 bolt along"
across = "0 mm"
height = "20 mm"
speed = "1.5 m/s"
peak = "2.2 V"
at = "coil"
[[found]]
piece = "25 mm ball"
cut = "8 mm"
before_bar = "-5 mm +- 6 mm"
[[stop]]
cut = "8 mm"
time = "62 ms +- 4 ms"
"""


def _written(folder: Path, text: str) -> Path:
    path = folder / "found.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_every_kind_is_read_in_si(tmp_path: Path) -> None:
    dunlin = tripmargin.load_machine("dunlin")
    passed, peak, found, stop = read_findings(_written(tmp_path, GOOD), dunlin)
    assert isinstance(passed, TestPass)
    assert (passed.x, passed.height, passed.caught) == (0.1, 0.04, True)
    assert passed.speed == metal_speed(dunlin, 0.008)
    assert isinstance(peak, PeakRead)
    assert (peak.peak, peak.at, peak.speed) == (2.2, "coil", 1.5)
    assert isinstance(found, MetalFound)
    assert found.before_bar == pytest.approx(-0.005)
    assert found.doubt == pytest.approx(0.006 / 3**0.5)  # limits: a rectangle (GUM 4.3.7)
    assert found.x is None
    assert isinstance(stop, StopMeasured)
    assert (stop.value, stop.low, stop.high) == pytest.approx((0.062, 0.058, 0.066))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("[[pass]]", "[[pas]]"), r":1: pas: no such table(.|\n)*Did you mean \"pass\""),
        (('"20 mm ball"', '"20 furlong ball"'), r":2: pass\.1\.piece"),
        (('"100 mm"', "100"), r":3: pass\.1\.across = 100: a bare value"),
        (('"4 cm"', '"4,0 cm"'), r":4: pass\.1\.height"),
        (('"4 cm"', '"-4 cm"'), r":1: pass\.1: height = -0\.04 m\. Allowed: 0 to 2 m"),
        (("caught = true", 'caught = "yes"'), r":6: pass\.1\.caught.*neither true nor false"),
        (("caught = true\n", ""), r"missing: caught"),
        (('by = "A. Reed"', 'speed = "1 m/s"'), r"missing: cut or speed, one of the two"),
        (("along", ""), r"how it lay is not said"),
        (('at = "coil"', 'at = "ear"'), r"Allowed: 'output' or 'coil'"),
        ((" +- 4 ms", ""), r":19: stop\.1: time = \"62 ms\" has no limits"),
        (("[[stop]]", "[stop]"), r"in double brackets"),
        (('time = "62', 'time = "62"'), r"not TOML"),
        ((GOOD, ""), r"nothing in it"),
        ((GOOD, "x = ["), r"not TOML"),
    ],
    ids=lambda value: None if isinstance(value, tuple) else value[:24],
)
def test_mistakes_are_told_with_their_line(
    tmp_path: Path, change: tuple[str, str], said: str
) -> None:
    text = GOOD.replace(*change, 1)
    assert text != GOOD
    with pytest.raises(FindingsError, match=said):
        read_findings(_written(tmp_path, text), tripmargin.load_machine("dunlin"))


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    text = GOOD.replace('"100 mm"', "100").replace('"2.2 V"', '"2.2 mm"').replace("true", "1")
    with pytest.raises(FindingsError) as told:
        read_findings(_written(tmp_path, text), tripmargin.load_machine("dunlin"))
    assert [each.line for each in told.value.problems] == [3, 6, 13]


def test_a_picture_is_no_findings_file(tmp_path: Path) -> None:
    path = tmp_path / "found.toml"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\xff\xfe")
    with pytest.raises(FindingsError, match="not a text"):
        read_findings(path, tripmargin.load_machine("dunlin"))
    with pytest.raises(FindingsError, match="cannot be read"):
        read_findings(tmp_path / "none.toml", tripmargin.load_machine("dunlin"))


def test_adding_changes_nothing_that_stands(tmp_path: Path) -> None:
    path = _written(tmp_path, "# by hand\n" + GOOD)
    values: dict[str, str | bool] = {
        "piece": "12 mm ball",
        "across": "-20 mm",
        "height": "30 mm",
        "speed": "0.9 m/s",
        "caught": False,
        "note": 'said "twice"\n',
    }
    append_finding(path, "pass", values)
    assert path.read_text(encoding="utf-8").startswith("# by hand\n" + GOOD)
    read = read_findings(path, tripmargin.load_machine("dunlin"))
    added = [each for each in read if isinstance(each, TestPass)][-1]
    assert (added.x, added.height, added.speed, added.caught) == (-0.02, 0.03, 0.9, False)


def test_the_yards_own_pieces_stand_in_the_file(tmp_path: Path) -> None:
    dunlin = tripmargin.load_machine("dunlin")
    path = _written(tmp_path, GOOD + '[[have]]\npiece = "15 mm ball"\n')
    assert len(read_findings(path, dunlin)) == 4  # a piece is no finding
    named = [(words, Piece.from_text(words)) for words in ("15 mm ball", "M8x30 bolt along")]
    assert [each.name for each in own_pieces(path, dunlin, named)] == ["15 mm ball", "M8x30 bolt"]
    assert path.read_text(encoding="utf-8").count("[[have]]") == 2  # the ball was there
    again = own_pieces(path, dunlin, [])
    assert again == (Piece.ball(0.015), Piece.from_text("M8x30 bolt along"))
    assert own_pieces(tmp_path / "none.toml", dunlin, []) == ()
    path.write_text('[[have]]\npiece = "15 furlong ball"\n', encoding="utf-8")
    with pytest.raises(FindingsError, match=r":2: have\.1\.piece"):
        own_pieces(path, dunlin, named)


def test_a_bolt_of_no_attitude_is_chosen_from_in_all_three(tmp_path: Path) -> None:
    """How it lies stands in the name, so that the answer that is kept can be read again."""
    ways = as_passed([Piece.from_text("M8x30 bolt"), Piece.from_text("M8x30 bolt upright")])
    assert [each.name for each in ways] == [
        f"M8x30 bolt {word}" for word in ("along", "across", "upright")
    ]
    for each in ways:
        again = Piece.from_text(each.name)
        assert again.attitude_given
        assert again.orientation == pytest.approx(each.orientation)


def test_the_last_day_and_all_names_are_found(tmp_path: Path) -> None:
    text = GOOD.replace('by = "A. Reed"', 'by = "A. Reed"\non = "2026-07-02"', 1)
    text = text.replace('at = "coil"', 'at = "coil"\nby = "B. Sedge"\non = "one Monday"')
    text += 'on = "2026-06-30"\nby = "A. Reed"\n'
    assert when_and_who(_written(tmp_path, text)) == (date(2026, 7, 2), "A. Reed, B. Sedge")
    assert when_and_who(_written(tmp_path, GOOD.replace("by =", "note ="))) == (None, None)
