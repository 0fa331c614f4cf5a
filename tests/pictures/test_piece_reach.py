"""Where one piece is seen, as a picture and as its table."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from tripmargin.pictures.piece_reach import (
    piece_reach_answers,
    piece_reach_picture,
    piece_reach_table,
)
from tripmargin.sensing.piece_reach import PieceReach

PLACES, HEIGHTS = np.linspace(-0.3, 0.3, 7), np.array([0.01, 0.04, 0.07])


def bolt(scale: float = 1.0) -> PieceReach:
    """Three ways to lie: across weak in the middle, along strong, upright between."""
    fall = np.array([6.0, 2.0, 0.8])[:, None] * scale
    across = fall * (0.2 + np.abs(PLACES) / 0.3)
    return PieceReach(
        "Curlew", "M12x40 bolt", 2.0, PLACES, HEIGHTS, ("across", "along", "upright"),
        np.stack([across, 4 * fall * np.ones(7), 2 * fall * np.ones(7)]), (), ("feed.slip",),
    )  # fmt: skip


def words(svg: str) -> str:
    return " ".join(re.findall(r"<text[^>]*>([^<]*)</text>", svg))


@pytest.mark.parametrize("attitude", ["worst", "typical", "best"])
@pytest.mark.parametrize("width", [328, 640])
def test_the_attitude_is_named_and_what_is_assumed_is_said(attitude: str, width: float) -> None:
    said = words(piece_reach_picture(bolt(), attitude, width=width))
    assert f"{attitude} attitude" in said
    assert "M12x40 bolt" in said
    assert "tolerance is taken at its middle" in said
    assert "feed.slip" in said
    # Only across in the middle of the topmost row stays under the threshold.
    assert ("not seen" in said) == (attitude == "worst" or "under the" in said)


def test_what_is_under_the_threshold_is_hatched_and_named() -> None:
    worst, best = (piece_reach_picture(bolt(), which) for which in ("worst", "best"))
    assert "under the threshold: not seen" in words(worst)
    assert "just seen" in words(worst)
    assert "under the threshold: not seen" not in words(best)
    nowhere = words(piece_reach_picture(bolt(0.01), "best"))
    assert "Not seen anywhere" in nowhere
    assert "seen nowhere" in nowhere


def test_the_answers_tell_how_it_lies_and_how_strong_its_signal_is() -> None:
    assert piece_reach_answers(bolt(), "best", us=False) == [
        "M12x40 bolt, best attitude at each place: along everywhere, at 2 m/s: seen everywhere.",
        "Its signal runs from 3.2 to 24 times the threshold.",
    ]
    worst = piece_reach_answers(bolt(), "worst", us=True)
    assert worst[0].startswith("M12x40 bolt, worst attitude at each place: across everywhere")
    assert "394 ft/min" in worst[0]
    one = replace(bolt(), lying=("as it was said to lie",), signal=bolt().signal[:1])
    assert "as it was said to lie, at" in piece_reach_answers(one, "typical", us=False)[0]


def test_the_table_has_a_row_for_each_height_and_place() -> None:
    headers, table = piece_reach_table(bolt(), us=False)
    assert headers[:4] == ("height, mm", "place, mm", "worst, of threshold", "lying then")
    assert len(table) == 21
    assert table[0] == ["10", "−300", "7.2", "across", "12", "24", "along"]
    assert piece_reach_table(bolt(), us=True)[0][0] == "height, in"
    one = replace(bolt(), lying=("as a ball does",), signal=bolt().signal[:1])
    assert piece_reach_table(one, us=False)[0][2:] == ("signal, of threshold",)


def test_the_key_runs_from_the_threshold_up() -> None:
    said = words(piece_reach_picture(bolt(), "worst"))
    keyed = re.findall(
        r"([\d.]+) to ([\d.]+)(?: times the threshold)?", said.partition("Read it")[0]
    )
    levels = [float(end) for pair in keyed[-3:] for end in pair]
    assert levels == sorted(levels)
    assert "1 to " in said


def test_sun_and_one_height_draw_too() -> None:
    flat = replace(bolt(), heights=HEIGHTS[:1], signal=bolt().signal[:, :1])
    svg = piece_reach_picture(flat, "worst", sun=True, us=True)
    assert svg.startswith("<svg")
    assert "style=" not in svg
