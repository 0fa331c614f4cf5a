"""Reading files of numbers and sound: CSV, WAV, FLAC, Parquet, MDF4."""

from tripmargin.recordings.reading.arrays import recording_of_arrays
from tripmargin.recordings.reading.opening import read

__all__ = ["read", "recording_of_arrays"]
