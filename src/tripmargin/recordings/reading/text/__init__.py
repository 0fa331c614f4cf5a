"""Text files of numbers, as loggers write them."""

from tripmargin.recordings.reading.text.reading import read_text

__all__ = ["read_text"]
