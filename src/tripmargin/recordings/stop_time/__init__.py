"""Stop time from sound, from a logger's channels and from counted video frames."""

from tripmargin.recordings.stop_time.frames import stop_time_from_frames
from tripmargin.recordings.stop_time.measuring import stop_time
from tripmargin.recordings.stop_time.options import LoggerOptions, SoundOptions
from tripmargin.recordings.stop_time.result import Event, Instant, StopTime, Trace

__all__ = [
    "Event",
    "Instant",
    "LoggerOptions",
    "SoundOptions",
    "StopTime",
    "Trace",
    "stop_time",
    "stop_time_from_frames",
]
