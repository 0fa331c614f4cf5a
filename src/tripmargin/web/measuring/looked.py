"""What every page has that looks for something in a recording: its boxes, and what is wrong."""

from __future__ import annotations

from tripmargin.recordings import Recording
from tripmargin.web.measuring.said import Box, channels_told, first_wrong


class Looked:
    """A recording read as a person says; `using` and `reading` are the boxes that say how."""

    recording: Recording | None
    using: list[Box]
    reading: list[Box]
    trouble: str
    was: str

    @property
    def found(self) -> object:
        """What was looked for; None where it was not found."""
        raise NotImplementedError

    @property
    def boxes(self) -> list[Box]:
        """All: how it is used, then how it is read."""
        return [*self.using, *self.reading]

    @property
    def wrong(self) -> Box | None:
        """The first box with a trouble."""
        return first_wrong(self.boxes)

    @property
    def channels(self) -> str:
        """What the file was read as, in a sentence; empty where it was not."""
        return channels_told(self.recording) if self.recording is not None else ""

    @property
    def open(self) -> bool:
        """Whether they must be seen: something was said, or is wrong."""
        return bool(self.trouble or self.found is None or self.was)
