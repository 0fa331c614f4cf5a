"""Stop time from video frames that a person counted."""

from __future__ import annotations

from math import isfinite, sqrt

from tripmargin.ground.languages import later, say, say_many
from tripmargin.recordings.recording import RecordingError, Trouble
from tripmargin.recordings.stop_time.options import ends, within
from tripmargin.recordings.stop_time.result import Instant, StopTime

COVERED = 1 - sqrt(0.05)
"""Half-width of the 95 % interval of a triangular distribution, of its half-base: 0.7764."""
PHONE_RATES = (24.0, 25.0, 30.0, 50.0, 60.0, 100.0, 120.0, 240.0)
_TRIP_SHOWN = later("The first frame that shows the trip: number {number}.")
_ROLL_STANDS = later("The first frame in which the roll stands still: number {number}.")
COUNTED = later(
    "The interval takes each event as anywhere between its frame and the one before it."
)


def stop_time_from_frames(
    *,
    first: int,
    last: int,
    rate: float,
    rate_uncertainty: float = 0.001,
    variable: bool = False,
    delay: float | tuple[float, float] = 0.0,
) -> StopTime:
    """Stop time from two frames of a video.

    Parameters
    ----------
    first : int
        Number of the first frame that shows the trip: the indicator lit, or the button pressed.
    last : int
        Number of the first frame in which the roll stands still.
    rate : float, Hz
        Frames a second, as the file says; a slow-motion file's own capture rate.
    rate_uncertainty : float
        Relative; the true rate lies within it on either side.
    variable : bool
        The file's frame rate varies, as many phones' does: each frame may then be half a frame
        early or late.
    delay : float or (low, high), s
        From the threshold's crossing to the indicator.

    Returns
    -------
    StopTime

    Raises
    ------
    RecordingError
        If a number is below zero or not whole, the last does not come after the first, or the
        rate is not above zero.

    Notes
    -----
    Each event lies between its frame and the one before, anywhere alike; the difference of two is
    triangular over two frames' time (GUM, JCGM 100:2008, 4.3.9), of which 1 - sqrt(0.05) = 0.776
    of the half-base holds 95 %.

    Examples
    --------
    >>> made = stop_time_from_frames(first=112, last=125, rate=240)
    >>> round(made.value * 1e3, 1), round(made.low * 1e3, 1), round(made.high * 1e3, 1)
    (54.2, 50.9, 57.4)
    """
    _count("first", first)
    _count("last", last)
    if last <= first:
        raise RecordingError(
            say(
                "Frame {last}, in which the roll stands, does not come after frame {first},"
                " which shows the trip. Count the first frame that shows the trip, then the"
                " first in which the roll stands still.",
                last=last,
                first=first,
            )
        )
    if not (isfinite(rate) and rate > 0):
        raise RecordingError(
            say(
                "rate = {rate} frames a second. Allowed: above 0, such as 30, 60 or 240; the"
                " camera's settings say it.",
                rate=rate,
            )
        )
    within("rate", rate, 1.0, 1e5, say("frames a second"))
    within("rate_uncertainty", rate_uncertainty, 0.0, 0.5, say("of the rate"))
    frame = 1 / rate
    count = last - first
    low, high = ends(delay, "delay")
    offset = -(low + high) / 2
    base = frame * (1.5 if variable else 1.0)
    spare = ((0.95 * count * frame * rate_uncertainty) ** 2 + (0.95 * (high - low) / 2) ** 2) ** 0.5
    half = ((COVERED * base) ** 2 + spare**2) ** 0.5
    value = count * frame - offset
    return StopTime(
        value,
        max(value - half, 0.0),
        value + half,
        (
            _instant("trip", first, frame, _TRIP_SHOWN),
            _instant("rest", last, frame, _ROLL_STANDS),
        ),
        "trip",
        "rest",
        "video frames",
        offset,
        spare,
        _troubles(rate, count, variable),
        _assumed(rate, rate_uncertainty, (low, high)),
    )


def _count(name: str, value: int) -> None:
    whole = isinstance(value, int) or (isinstance(value, float) and value.is_integer())
    if isinstance(value, bool) or not whole or value < 0:
        raise RecordingError(
            say(
                "{name} = {value}: a frame's number is a whole number from 0, counted from"
                " the file's beginning.",
                name=name,
                value=value,
            )
        )


def _instant(name: str, number: int, frame: float, how: str) -> Instant:
    """Between a frame and the one before it."""
    middle = (number - 0.5) * frame
    reach = 0.95 * frame / 2
    return Instant(name, middle, middle - reach, middle + reach, say(how, number=number))


def _troubles(rate: float, count: int, variable: bool) -> tuple[Trouble, ...]:
    made = []
    if variable:
        made.append(
            Trouble(
                "uneven",
                say(
                    "The frame rate varies: each frame may be half a frame early or late,"
                    " and the interval is that much wider. A camera app with a fixed rate"
                    " would mend it."
                ),
            )
        )
    elif min(abs(rate - usual * part) for usual in PHONE_RATES for part in (1, 1 / 1.001)) > 0.02:
        made.append(
            Trouble(
                "uneven",
                say(
                    "{rate:g} frames a second is not a rate that cameras keep: it may be the"
                    " mean of a rate that varies. If so, say that the rate varies.",
                    rate=rate,
                ),
            )
        )
    if count < 5:
        made.append(
            Trouble(
                "coarse",
                say_many(
                    "The stop lasts 1 frame: film at more frames a second, 240 for instance.",
                    "The stop lasts {count} frames: film at more frames a second, 240 for"
                    " instance.",
                    count,
                ),
            )
        )
    return tuple(made)


def _assumed(rate: float, uncertainty: float, delay: tuple[float, float]) -> tuple[str, ...]:
    low, high = (1e3 * end for end in delay)
    if low == high == 0:
        shown = say(
            "The indicator is taken to show the trip at the moment the threshold is crossed."
        )
    elif low == high:
        shown = say(
            "The indicator shows the trip {low:g} ms after the threshold is crossed.", low=low
        )
    else:
        shown = say(
            "The indicator shows the trip {low:g} to {high:g} ms after the threshold is crossed.",
            low=low,
            high=high,
        )
    rate_said = say(
        "{rate:g} frames a second, within {uncertainty:g} %.",
        rate=rate,
        uncertainty=uncertainty * 100,
    )
    return (say(COUNTED), rate_said, shown)
