"""What a yard can measure: recordings and what they say about a machine."""

from tripmargin.recordings.recording import (
    Block,
    Channel,
    Guess,
    Recording,
    RecordingError,
    Trouble,
)

__all__ = ["Block", "Channel", "Guess", "Recording", "RecordingError", "Trouble"]
