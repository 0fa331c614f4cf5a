"""The stop time's picture: what it shows, at every width, by day and in the sun."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from tests.pictures.reading import SVG, colours, outside_page, overlaps, root_of, words_of
from tripmargin.pictures.look import DAY, SUN
from tripmargin.pictures.stop_time import stop_time_picture
from tripmargin.pictures.stop_time_data import stop_time_table
from tripmargin.recordings.recording import Trouble
from tripmargin.recordings.stop_time import Instant, StopTime, Trace, stop_time_from_frames

TIMES = np.arange(0.9, 1.3, 1e-4)


def level(of: float) -> np.ndarray:
    return np.where(of > TIMES, 20.0, 20 * np.exp(-(TIMES - of) / 0.01))


HEARD = StopTime(
    0.072, 0.068, 0.080,
    (
        Instant("click", 1.0, 0.9995, 1.0005, "The first knock."),
        Instant("catch", 1.058, 1.056, 1.061, "The last pawl's clack."),
        Instant("rest", 1.072, 1.068, 1.080, "The noise has died away."),
    ),
    "click", "rest", "sound", troubles=(Trouble("clipped", "The sound is clipped."),),
    assumed=("The click counts as the crossing.",), file="stop.wav",
    traces=(Trace("sound over the machine's own, dB", TIMES, level(1.06)),),
)  # fmt: skip
LOGGED = replace(
    HEARD, start="trip", source="logger",
    instants=(replace(HEARD.instants[0], name="trip"), *HEARD.instants[1:]),
    traces=(
        Trace("trip line", TIMES, np.where(TIMES < 1.0, 12.0, 0.0)),
        Trace("roll pickup with a rather long name of its own", TIMES, np.sin(4e3 * TIMES) > 0),
    ),
)  # fmt: skip
CLOSE = replace(
    LOGGED, instants=(*LOGGED.instants, Instant("last pulse", 1.0585, 1.0585, 1.0585, "Last."))
)
KINDS = {
    "heard": HEARD,
    "moved": HEARD.moved(rest=1.07),
    "logged": LOGGED,
    "names close together": CLOSE,
    "filmed": stop_time_from_frames(first=112, last=125, rate=240),
}


@pytest.mark.parametrize("width", [320, 360, 720, 1200])
@pytest.mark.parametrize("kind", KINDS)
def test_nothing_overlaps_or_leaves_the_page(kind: str, width: int) -> None:
    svg = stop_time_picture("Curlew", KINDS[kind], width=width)
    assert overlaps(svg) == []
    assert outside_page(svg) == []


def test_it_says_the_value_its_interval_and_what_was_noticed() -> None:
    words = words_of(stop_time_picture("Curlew", HEARD))
    assert "Stop time 72.0 ms: from 68.0 ms to 80.0 ms in 95 of 100" in words
    assert "The sound is clipped." in words
    assert "The click counts as the crossing." in words
    assert "not people" in words
    assert "Moved by hand: rest." in words_of(stop_time_picture("Curlew", KINDS["moved"]))


def test_a_page_may_move_the_instants() -> None:
    root = root_of(stop_time_picture("Curlew", HEARD))
    lines = [each for each in root.iter(f"{SVG}line") if each.get("data-instant")]
    assert {each.get("data-instant"): float(each.get("data-time", "")) for each in lines} == {
        "click": 1.0, "catch": 1.058, "rest": 1.072,
    }  # fmt: skip
    (frame,) = [each for each in root.iter(f"{SVG}rect") if each.get("data-from")]
    left, right = float(frame.get("data-left", "")), float(frame.get("data-right", ""))
    start, stop = float(frame.get("data-from", "")), float(frame.get("data-to", ""))
    for each in lines:
        x = left + (float(each.get("data-time", "")) - start) / (stop - start) * (right - left)
        assert float(each.get("x1", "")) == pytest.approx(x, abs=0.1)


@pytest.mark.parametrize(("sun", "look"), [(False, DAY), (True, SUN)])
def test_colours_are_the_rooms_own(sun: bool, look: object) -> None:
    svg = stop_time_picture("Curlew", HEARD, sun=sun)
    own = {getattr(look, part) for part in ("paper", "ink", "soft", "accent", "wash")}
    assert colours(svg) <= own
    assert not re.search(r"style=|<script", svg)


def test_the_table_behind_it_holds_every_instant_and_the_stop_time() -> None:
    headers, rows = stop_time_table(HEARD)
    assert headers == ("what", "time_s", "low_s", "high_s", "how")
    assert [row[0] for row in rows] == ["click", "catch", "rest", "stop time"]
    assert rows[-1][1:4] == [0.072, 0.068, 0.08]


def test_a_picture_without_a_signal_still_shows_the_stop() -> None:
    assert "trip" in words_of(stop_time_picture("Curlew", KINDS["filmed"], width=320))


@pytest.mark.parametrize("width", [100, 9000])
def test_a_width_that_cannot_be_read_is_refused(width: float) -> None:
    with pytest.raises(ValueError, match="px wide"):
        stop_time_picture("Curlew", HEARD, width=width)


def test_a_page_that_says_the_notes_itself_has_them_left_out() -> None:
    without = words_of(stop_time_picture("Curlew", HEARD, notes=False))
    assert "The sound is clipped." in words_of(stop_time_picture("Curlew", HEARD))
    assert "The sound is clipped." not in without
    assert "The click counts as the crossing." not in without
    assert "From sound, stop.wav." in without
