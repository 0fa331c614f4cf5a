"""A quiet run read as a person says, and the noise in it, made ready for the page."""

from __future__ import annotations

from tripmargin.ground.errors import NotKnownError
from tripmargin.recordings import Noise, Recording, RecordingError
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import MachineVersion
from tripmargin.web.measuring.looked import Looked
from tripmargin.web.measuring.noise_as import noise_boxes, noise_options
from tripmargin.web.measuring.plain_words import plainly
from tripmargin.web.measuring.reading_as import ReadAs
from tripmargin.web.measuring.recordings_read import noise_in, recording_of
from tripmargin.web.measuring.said import Said, fingerprint, place
from tripmargin.web.measuring.uploads import Upload


class NoiseLooked(Looked):
    """The recording and its noise; None with its troubles told."""

    def __init__(self, upload: Upload, version: MachineVersion, said: Said, *, us: bool) -> None:
        self.trouble, self.was = "", ""
        self.recording: Recording | None = None
        self.noise: Noise | None = None
        self.machine = machine_of(version)
        read_as = ReadAs.of(upload.path, said)
        self.reading = read_as.boxes
        self.using = noise_boxes(said, None, None, us=us) if read_as.kind else []
        if read_as.good:
            try:
                self.recording = recording_of(upload, read_as.options)
                self.reading = read_as.filled(self.recording)
            except RecordingError as error:
                self.trouble = place(str(error), self.reading)
        if read_as.kind:
            self.using = noise_boxes(said, self.recording, None, us=us)
        options = noise_options(self.using, us=us)
        if self.recording is None or any(box.troubles for box in self.using):
            return
        try:
            self.noise = noise_in(upload, self.machine, version.digest, read_as.options, options)
        except NotKnownError as error:
            self.trouble = plainly(str(error))
            return
        except RecordingError as error:
            self.trouble = place(str(error), self.boxes)
            return
        self.was = fingerprint(read_as.options, options)
        self.using = noise_boxes(said, self.recording, self.noise, us=us)

    @property
    def found(self) -> object:
        """What was looked for."""
        return self.noise
