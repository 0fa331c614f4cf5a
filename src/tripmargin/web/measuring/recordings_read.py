"""Recordings read once, and what is in them worked out once, while a person looks and changes."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from tripmargin.ground.languages import language, say
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.recordings import Noise, Recording, RecordingError, noise_of
from tripmargin.recordings.reading import read
from tripmargin.recordings.reading.kinds import PHONE, SOUND
from tripmargin.recordings.stop_time import StopTime, stop_time
from tripmargin.web.machines.shown import Shown
from tripmargin.web.measuring.said import fingerprint
from tripmargin.web.measuring.uploads import Upload

_RECORDINGS, _FOUND = Shown(most=20), Shown(most=40)
_log = logging.getLogger(__name__)


def recording_of(upload: Upload, options: dict[str, Any]) -> Recording:
    """The recording, read as was said.

    Raises
    ------
    RecordingError
        If it cannot be read so.
    """
    key = (upload.uid, fingerprint(options), language())
    found = _RECORDINGS.get(key)
    if found is None:
        with _ours(upload, say("it cannot be read")):
            found = _RECORDINGS.keep(key, {"recording": read(upload.path, **options)})
    recording: Recording = found["recording"]
    return recording


def stop_of(upload: Upload, read_as: dict[str, Any], options: dict[str, Any]) -> StopTime:
    """The stop in it.

    Raises
    ------
    RecordingError
        If there is none.
    """
    recording = recording_of(upload, read_as)
    key = (upload.uid, "stop", fingerprint(read_as), fingerprint(options), language())
    found = _FOUND.get(key)
    if found is None:
        kind = "sound" if is_sound(recording) else "logger"
        with _ours(upload, say("no stop can be worked out from it")):
            heard = stop_time(recording, from_=kind, **options)
        found = _FOUND.keep(key, {"stop": heard})
    stop: StopTime = found["stop"]
    return stop


def noise_in(
    upload: Upload, machine: LoadedMachine, digest: str, read_as: dict[str, Any],
    options: dict[str, Any],
) -> Noise:  # fmt: skip
    """The noise in it, for a machine whose version has this digest.

    Raises
    ------
    RecordingError
        If it tells nothing of the noise.
    NotKnownError
        If the machine's file lacks what is needed.
    """
    recording = recording_of(upload, read_as)
    key = (upload.uid, digest, fingerprint(read_as), fingerprint(options), language())
    found = _FOUND.get(key)
    if found is None:
        with _ours(upload, say("no noise can be worked out from it")):
            made = noise_of(recording, machine, **options)
        found = _FOUND.keep(key, {"noise": made})
    noise: Noise = found["noise"]
    return noise


def is_sound(recording: Recording) -> bool:
    """Whether it is heard, not logged."""
    return recording.kind in (*SOUND, *PHONE)


@contextmanager
def _ours(upload: Upload, what: str) -> Iterator[None]:
    """A mistake of ours told as such, instead of as a page that broke."""
    try:
        yield
    except (ArithmeticError, LookupError, ValueError) as error:
        _log.exception("A recording cannot be worked on")
        raise RecordingError(
            say(
                "{name}: {what} ({error}, a mistake of ours). Is it whole, and does it hold what is"
                " looked for?",
                name=upload.name,
                what=what,
                error=type(error).__name__,
            )
        ) from error
