"""Learning a machine from what a yard measured."""

from tripmargin.recordings.calibrating.calibration import Calibration, calibrate
from tripmargin.recordings.calibrating.next_piece import NextPass, next_pass
from tripmargin.recordings.calibrating.observations import (
    MetalFound,
    Observation,
    PeakRead,
    StopMeasured,
    TestPass,
)
from tripmargin.recordings.calibrating.writing_back import CalibratedField

__all__ = [
    "CalibratedField",
    "Calibration",
    "MetalFound",
    "NextPass",
    "Observation",
    "PeakRead",
    "StopMeasured",
    "TestPass",
    "calibrate",
    "next_pass",
]
