"""A stop time from any recording."""

from __future__ import annotations

from typing import Any

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.kinds import PHONE, SOUND
from tripmargin.recordings.recording import Recording, RecordingError
from tripmargin.recordings.stop_time.logger import stop_time_from_logger
from tripmargin.recordings.stop_time.options import LoggerOptions, SoundOptions, options_of
from tripmargin.recordings.stop_time.result import StopTime
from tripmargin.recordings.stop_time.sound import stop_time_from_sound

SOUND_KINDS = tuple(kind.upper() for kind in (*SOUND, *PHONE))
LEAST_SOUND = 6000.0
"""Hz: arrays without units from this rate on are sound."""


def stop_time(recording: Recording, *, from_: str | None = None, **options: Any) -> StopTime:
    """How long the rolls took to stop, from the threshold's crossing to rest.

    Parameters
    ----------
    recording : Recording
        From `read`.
    from_ : str, optional
        "logger" (trip line and roll sensor) or "sound" (click, clack, noise dying away). None: by
        the recording's kind.
    **options
        What `SoundOptions` or `LoggerOptions` list: which channel, which stop of several, delays
        and distances, the machine's own stop chain.

    Returns
    -------
    StopTime
        Value and an interval that holds 95 %, s; the instants, what was assumed and noticed.

    Raises
    ------
    RecordingError
        If the recording holds no stop, or a channel or option is wrong; it says what to do.

    Notes
    -----
    The stop time is what a stopwatch would show from the threshold's crossing until the rolls
    stand (models page, Stopping). Speed of sound: 331.3 m/s at 0 degC, with the root of the
    absolute temperature; 2.914 ms a metre at 20 degC.

    Examples
    --------
    >>> import numpy as np
    >>> from tripmargin.recordings.reading.arrays import recording_of_arrays
    >>> t = np.arange(0, 1.5, 1e-4)
    >>> trip = np.where(t < 0.9, 12.0, 0.2)
    >>> speed = np.clip((0.96 - t) / 0.02, 0, 1) + 0.002 * np.sin(9e3 * t)
    >>> made = recording_of_arrays(
    ...     np.column_stack([trip, speed]), rate=1e4, names=["trip", "roll speed"]
    ... )
    >>> found = stop_time(made)
    >>> round(found.value, 3), found.low < 0.06 < found.high
    (0.06, True)
    """
    kind = from_ or _kind(recording)
    if kind == "sound":
        return stop_time_from_sound(recording, options_of(SoundOptions, options, "sound"))
    if kind == "logger":
        return stop_time_from_logger(recording, options_of(LoggerOptions, options, "logger"))
    raise RecordingError(say("from_ = {kind!r}. Allowed: 'logger' or 'sound'.", kind=kind))


def _kind(recording: Recording) -> str:
    words = recording.kind.upper().replace(",", " ").split()
    if any(word in SOUND_KINDS for word in words):
        return "sound"
    bare = all(not channel.unit for channel in recording.channels)
    fast = recording.rate is not None and recording.rate >= LEAST_SOUND
    named = any(not channel.name.startswith("channel") for channel in recording.channels)
    return "sound" if bare and fast and not named and len(recording.channels) <= 2 else "logger"
