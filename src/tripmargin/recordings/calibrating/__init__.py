"""Learning a machine from what a yard measured."""

from tripmargin.recordings.calibrating.calibration import (
    AsWritten,
    Calibration,
    calibrate,
    first_pass,
)
from tripmargin.recordings.calibrating.findings_file import (
    FindingsError,
    append_finding,
    read_findings,
)
from tripmargin.recordings.calibrating.keeping import NO_DRIFT, drifts, measured_entries
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
    "NO_DRIFT",
    "AsWritten",
    "CalibratedField",
    "Calibration",
    "FindingsError",
    "MetalFound",
    "NextPass",
    "Observation",
    "PeakRead",
    "StopMeasured",
    "TestPass",
    "append_finding",
    "calibrate",
    "drifts",
    "first_pass",
    "measured_entries",
    "next_pass",
    "read_findings",
]
