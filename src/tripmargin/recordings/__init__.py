"""What a yard can measure: recordings and what they say about a machine."""

from tripmargin.recordings.calibrating import (
    Calibration,
    MetalFound,
    PeakRead,
    StopMeasured,
    TestPass,
    calibrate,
)
from tripmargin.recordings.recording import (
    Block,
    Channel,
    Guess,
    Recording,
    RecordingError,
    Trouble,
)

__all__ = [
    "Block",
    "Calibration",
    "Channel",
    "Guess",
    "MetalFound",
    "PeakRead",
    "Recording",
    "RecordingError",
    "StopMeasured",
    "TestPass",
    "Trouble",
    "calibrate",
]
