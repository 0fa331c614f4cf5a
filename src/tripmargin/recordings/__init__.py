"""What a yard can measure: recordings and what they say about a machine."""

from tripmargin.recordings.calibrating import (
    Calibration,
    MetalFound,
    PeakRead,
    StopMeasured,
    TestPass,
    calibrate,
)
from tripmargin.recordings.noise import Event, Noise, Order, noise_of
from tripmargin.recordings.reading import read, recording_of_arrays
from tripmargin.recordings.recording import (
    Block,
    Channel,
    Guess,
    Recording,
    RecordingError,
    Trouble,
)
from tripmargin.recordings.stop_time import StopTime, stop_time, stop_time_from_frames

__all__ = [
    "Block",
    "Calibration",
    "Channel",
    "Event",
    "Guess",
    "MetalFound",
    "Noise",
    "Order",
    "PeakRead",
    "Recording",
    "RecordingError",
    "StopMeasured",
    "StopTime",
    "TestPass",
    "Trouble",
    "calibrate",
    "noise_of",
    "read",
    "recording_of_arrays",
    "stop_time",
    "stop_time_from_frames",
]
