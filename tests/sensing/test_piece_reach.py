"""Reach of one piece, against single passes and against the reach of balls."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from tests.made_machines import lopsided, made
from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import load_machine
from tripmargin.sensing import Piece, piece_reach, reach, simulate_pass
from tripmargin.sensing.lying import ways_to_lie
from tripmargin.sensing.piece_reach import PieceReaching

SPEED, PLACES, HEIGHTS = 2.0, [-0.2, 0.0, 0.12], [0.035, 0.06]


@pytest.mark.parametrize("text", ["M12x40 bolt", "60 mm x 40 mm x 3 mm plate", "20 mm ball"])
def test_each_way_to_lie_is_the_pass_of_a_piece_that_lies_so(text: str) -> None:
    machine, piece = load_machine("curlew"), Piece.from_text(text)
    made = piece_reach(machine, piece, speed=SPEED, places=PLACES, heights=HEIGHTS)
    threshold = machine.detector.threshold.nominal
    for k, (words, lying) in enumerate(ways_to_lie(piece)):
        assert made.lying[k] == words
        for h, x in ((0, 0), (1, 2)):
            one = simulate_pass(machine, lying, x=PLACES[x], height=HEIGHTS[h], speed=SPEED)
            # A coarser grid along the flow than a single pass has.
            assert made.signal[k, h, x] == pytest.approx(one.peak / threshold, rel=5e-3)


def test_a_ball_is_seen_where_the_reach_of_balls_says_so() -> None:
    machine = load_machine("curlew")
    balls = reach(machine, speed=SPEED, places=PLACES, heights=HEIGHTS).smallest_ball
    made = piece_reach(machine, Piece.ball(0.02), speed=SPEED, places=PLACES, heights=HEIGHTS)
    for attitude in ("worst", "typical", "best"):  # it lies one way only
        np.testing.assert_allclose(made.at(attitude), (0.02 / balls) ** 3, rtol=1e-9)
    assert made.lying == ("as a ball does",)


def test_worst_typical_and_best_are_of_the_ways_at_each_place() -> None:
    machine, bolt = load_machine("whimbrel"), Piece.from_text("M12x40 bolt")
    seen = piece_reach(machine, bolt, speed=SPEED, places=PLACES, heights=HEIGHTS)
    worst, typical, best = (seen.at(which) for which in ("worst", "typical", "best"))
    np.testing.assert_array_equal(worst, seen.signal.min(axis=0))
    np.testing.assert_array_equal(typical, np.median(seen.signal, axis=0))
    np.testing.assert_array_equal(best, seen.signal.max(axis=0))
    assert (best > 1.5 * worst).all()  # how a bolt lies matters
    lies = seen.lies("worst")
    for h, x in np.ndindex(worst.shape):
        named = [seen.signal[k, h, x] for k, word in enumerate(seen.lying) if word == lies[h][x]]
        assert min(named) == worst[h, x]
    word, share = seen.mostly("worst")
    assert share == sum(row.count(word) for row in lies) / 6
    assert seen.seen("worst") == np.mean(worst >= 1)
    json.dumps(seen.to_dict(), allow_nan=False)


def test_a_rod_is_turned_every_way_and_a_piece_that_is_said_to_lie_so_is_not() -> None:
    rod = ways_to_lie(Piece.from_text("M12x40 bolt"))
    ends = np.array([one.orientation[:, 0] for _, one in rod])
    apart = np.abs(ends @ ends.T) - np.eye(len(ends))
    assert apart.max() < 0.9  # no two of the thirteen are nearly one
    # From any direction the nearest of them is no more than 28 degrees away.
    every = np.random.default_rng(1).normal(size=(2000, 3))
    every /= np.linalg.norm(every, axis=1)[:, None]
    assert np.degrees(np.arccos(np.abs(every @ ends.T).max(axis=1))).max() < 28
    given = ways_to_lie(Piece.from_text("M12x40 bolt along"))
    assert [words for words, _ in given] == ["as it was said to lie"]
    assert len(ways_to_lie(Piece.from_text("60 mm x 40 mm x 3 mm plate"))) == 6


def test_no_piece_reaches_into_the_roll() -> None:
    machine, bolt = load_machine("curlew"), Piece.from_text("10 mm x 60 mm rod")
    seen = piece_reach(machine, bolt, speed=SPEED, places=[0.1], heights=[0.002, 0.01, 0.04])
    room = ~np.isnan(seen.signal[:, :, 0])
    ends = {"across": 0.005, "along": 0.005, "upright": 0.03, "leaning every way": 0.0214}
    for word, half in ends.items():
        rows = room[[k for k, one in enumerate(seen.lying) if one == word]]
        flat = word in ("across", "along")  # where nothing has room, the flattest stands in
        assert (rows == [flat, half <= 0.01, half <= 0.04]).all(), word
    assert np.isfinite(seen.at("worst")).all()
    assert seen.lies("best")[0][0] in ("across", "along", "between across and along")


def test_the_work_is_done_step_by_step_and_told() -> None:
    machine, bolt = load_machine("curlew"), Piece.from_text("M8x30 bolt")
    work = PieceReaching.of(machine, bolt, speed=SPEED, places=[0.1], heights=[0.03])
    told: list[float] = []
    whole = piece_reach(
        machine, bolt, speed=SPEED, places=[0.1], heights=[0.03], progress=told.append
    )
    assert told == pytest.approx(np.arange(1, 14) / 13)
    for done in range(13):
        assert work.result is None
        assert work.share == pytest.approx(done / 13)
        work.step()
    work.step()  # one too many does nothing
    assert work.result is not None
    np.testing.assert_array_equal(work.result.signal, whole.signal)


def test_what_is_hardly_magnetic_or_too_thick_is_said() -> None:
    machine = load_machine("curlew")
    notes = piece_reach(
        machine, Piece.from_text("20 mm aluminium ball"), speed=SPEED, places=[0.1], heights=[0.03]
    ).notes
    assert any("hardly magnetic" in note for note in notes)
    notes = piece_reach(machine, Piece.ball(0.2), speed=SPEED, places=[0.1], heights=[0.03]).notes
    assert any("cannot pass" in note for note in notes)


def test_bad_questions_are_refused() -> None:
    machine = load_machine("curlew")
    for speed in (0.0, -1.0, np.inf, np.nan, 1e4):
        with pytest.raises(ValueError, match="speed"):
            piece_reach(machine, Piece.ball(0.02), speed=speed)
    with pytest.raises(ValueError, match="places"):
        piece_reach(machine, Piece.ball(0.02), speed=1.0, places=[np.nan])
    with pytest.raises(NotKnownError, match="sensor"):
        piece_reach(replace(machine, sensor=None), Piece.ball(0.02), speed=1.0)
    usual = piece_reach(made(sensor=lopsided()), Piece.ball(0.02), speed=1.0)
    assert usual.signal.shape == (1, 5, 21)
