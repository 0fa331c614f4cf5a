"""A recording read as a person says, and the stop in it, made ready for the page."""

from __future__ import annotations

from typing import Any

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.recordings import Recording, RecordingError
from tripmargin.recordings.reading.kinds import PHONE, SOUND
from tripmargin.recordings.stop_time import StopTime
from tripmargin.web.measuring.looked import Looked
from tripmargin.web.measuring.reading_as import ReadAs
from tripmargin.web.measuring.recordings_read import recording_of, stop_of
from tripmargin.web.measuring.said import Said, fingerprint, place
from tripmargin.web.measuring.stop_as import stop_boxes, stop_options
from tripmargin.web.measuring.uploads import Upload


class StopLooked(Looked):
    """A recording read as a person says, and the stop in it; None with its troubles told."""

    def __init__(self, upload: Upload, said: Said, *, us: bool) -> None:
        self.trouble, self.was = "", ""
        self.recording: Recording | None = None
        self.stop: StopTime | None = None
        self.which = said.raw("which")
        read_as = ReadAs.of(upload.path, said)
        sound = read_as.kind in (*SOUND, *PHONE)
        self.reading = read_as.boxes
        self.using = stop_boxes(said, None, None, sound=sound, us=us) if read_as.kind else []
        if not read_as.good:
            return
        try:
            self.recording = recording_of(upload, read_as.options)
        except RecordingError as error:
            self.trouble = place(str(error), self.reading)
            return
        self.reading = read_as.filled(self.recording)
        self.using = stop_boxes(said, self.recording, None, sound=sound, us=us)
        options = stop_options(self.using, us=us)
        if any(box.troubles for box in self.using):
            return
        try:
            options |= _which(self.which)
            self.stop = stop_of(upload, read_as.options, options)
        except RecordingError as error:
            self.trouble = place(f"{error}{_doubt(self.recording)}", [*self.using, *self.reading])
            return
        self.was = fingerprint(read_as.options, options)
        self.using = stop_boxes(said, self.recording, self.stop, sound=sound, us=us)

    @property
    def found(self) -> object:
        """What was looked for."""
        return self.stop


def _doubt(recording: Recording) -> str:
    """The unit of the time where it was only guessed: with another one there may be a stop."""
    guess = next((one for one in recording.guesses if one.what == "unit of time"), None)
    if guess is None:
        return ""
    words = say(
        "The file does not say the unit of its times: {unit} was taken. If it is another, say so at"
        " “Unit of the time”.",
        unit=guess.value_said,
    )
    return f"\n{words}"


def _which(said: str) -> dict[str, Any]:
    """The number of a stop, as an option."""
    if said and not (said.isascii() and said.isdecimal() and len(said) < 5):
        raise RecordingError(
            say("which = {seen}. Allowed: the number of a stop, from 1.", seen=shortened(said))
        )
    return {"which": int(said)} if said else {}
