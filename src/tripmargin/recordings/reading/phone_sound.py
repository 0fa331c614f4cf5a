"""Sound as phones keep it: m4a, 3gp, aac, amr; decoded frame by frame."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.options import Options
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import needs_extra, refusal
from tripmargin.recordings.reading.sound import sample_range
from tripmargin.recordings.reading.sound_watch import SEGMENT, SoundWatch, narrow
from tripmargin.recordings.reading.unpacking import refuse_too_much
from tripmargin.recordings.recording import (
    BLOCK,
    Block,
    Channel,
    Recording,
    RecordingError,
    Trouble,
)

Floats = NDArray[np.float64]
_EARLIER = 0.3  # s decoded before a stretch: a frame leans on those before it
_PRIMING = 1024  # samples that AAC puts before the first (ISO/IEC 14496-3, from memory: one frame)
_FORMATS = {"M4A": "mov", "3GP": "mov", "AAC": "aac", "AMR": "amr", "WebM": "matroska"}
_RATES = (1000, 800_000)  # Hz, of sound that can be believed
_SEEKABLE = ("M4A", "3GP")  # containers whose time stamps count single samples


@dataclass(frozen=True)
class PhoneFile:
    """A file that is opened anew for each reading."""

    original: Original
    kind: str

    @contextmanager
    def open(self) -> Iterator[tuple[Any, Any]]:
        """The container and its first sound.

        Raises
        ------
        RecordingError
            Where the library is missing, cannot read it, or there is no sound in it.
        """
        try:
            import av
        except ImportError as error:
            raise needs_extra(self.original.path, f"{self.kind} sound", "av") from error
        with self.original.open() as file:
            try:
                # The format is named, so that no list of other files is taken for sound.
                container = av.open(file, format=_FORMATS[self.kind], metadata_errors="replace")
            except (av.error.FFmpegError, ValueError, OverflowError) as error:
                why = getattr(error, "strerror", None) or say("it makes no sense")
                raise self._damaged(
                    say("this {kind} file cannot be read: {why}", kind=self.kind, why=why)
                ) from error
            with container:
                if not container.streams.audio:
                    raise refusal(
                        self.original.path,
                        say("no sound is in this file"),
                        allowed=say("a file with a sound track"),
                    )
                stream = container.streams.audio[0]
                if stream.codec_context is None:
                    raise self._damaged(say("the sound in it is in no coding that is known"))
                if not (_RATES[0] <= stream.rate <= _RATES[1] and stream.channels >= 1):
                    raise self._damaged(
                        say(
                            "{rate} samples a second in {channels} channels are no sound",
                            rate=stream.rate,
                            channels=stream.channels,
                        )
                    )
                yield container, stream

    def _damaged(self, problem: str) -> RecordingError:
        return refusal(
            self.original.path,
            problem,
            allowed=say("a whole file as the phone made it"),
            hint=say("Copy it from the phone again, or have the phone save WAV."),
        )

    def pieces(self, begin: int, end: int, rate: int) -> Iterator[tuple[int, Floats]]:
        """Number of the first sample, and samples (n, channels) from -1 to 1, up to `end`.

        Raises
        ------
        EOFError
            Where it can be decoded no further.
        """
        import av

        with self.open() as (container, stream):
            at, count = 0, int(stream.channels)
            try:
                if self.kind in _SEEKABLE and begin > rate:
                    early = (begin / rate - _EARLIER) / stream.time_base
                    container.seek(int(early) + (stream.start_time or 0), stream=stream)
                    at = -1
                for frame in container.decode(stream):
                    values = _values(frame)
                    if values.shape[1] != count:
                        raise EOFError(f"{values.shape[1]} channels instead of {count}")
                    if at < 0 and frame.pts is None:
                        continue
                    if at < 0:
                        since = (frame.pts - (stream.start_time or 0)) * stream.time_base
                        at = round(since * rate)
                    if at >= end:
                        return
                    if at + len(values) > begin:
                        cut = max(0, begin - at)
                        yield at + cut, values[cut : end - at]
                    at += len(values)
                    self.original.check()
            except (av.error.FFmpegError, OverflowError) as error:
                raise EOFError(str(error)) from error


def _values(frame: Any) -> Floats:
    """A frame's samples, (n, channels) from -1 to 1."""
    count = frame.layout.nb_channels
    array = frame.to_ndarray()
    shaped = array.T if frame.format.is_planar else array.reshape(-1, count)
    if array.dtype.kind == "f":
        return np.asarray(shaped, np.float64)
    if array.dtype == np.uint8:
        return np.asarray((shaped.astype(np.float64) - 128) / 128)
    return np.asarray(shaped.astype(np.float64) / -float(np.iinfo(array.dtype).min))


@dataclass(frozen=True)
class PhoneSource:
    """Blocks of a phone's sound."""

    file: PhoneFile
    rate: float
    own_rate: int
    samples: int

    def blocks(self, columns: tuple[int, ...], start: float, stop: float) -> Iterator[Block]:
        """Blocks between two times, of about a second each."""
        begin, end = sample_range(self.rate, self.samples, start, stop)
        held: list[Floats] = []
        first = begin
        for at, values in self._decoded(begin, end):
            first = at if not held else first
            held.append(values[:, list(columns)])
            if sum(len(each) for each in held) >= BLOCK // 4:
                yield self._block(first, held)
                held = []
        if held:
            yield self._block(first, held)

    def _decoded(self, begin: int, end: int) -> Iterator[tuple[int, Floats]]:
        """As far as it can be decoded; the first look has told where it breaks off."""
        with suppress(EOFError):
            yield from self.file.pieces(begin, end, self.own_rate)

    def _block(self, first: int, held: list[Floats]) -> Block:
        values = np.concatenate(held)
        return Block((first + np.arange(len(values))) / self.rate, values)


def read_phone_sound(original: Original, options: Options, kind: str) -> Recording:
    """A recording from a phone's sound file.

    Raises
    ------
    RecordingError
        Where the library is missing or the file cannot be decoded.
    """
    options.only_for(original.path, kind, "rate", "units")
    file = PhoneFile(original, kind)
    with file.open() as (_, stream):
        own, count = int(stream.rate), int(stream.channels)
        codec = str(stream.codec_context.name)
        said = (
            round(stream.duration * stream.time_base * own)
            if stream.duration is not None and kind in _SEEKABLE
            else None
        )
    rate = options.rate or float(own)
    names = [f"channel {k}" for k in range(1, count + 1)]
    channels = tuple(Channel(name, options.units.get(name, "")) for name in names)
    watch = SoundWatch(channels, rate)
    segments: list[Floats] = []
    troubles: list[Trouble] = []
    held: list[Floats] = []
    decoded = 0
    try:
        for _, values in file.pieces(0, 1 << 62, own):
            decoded += len(values)
            refuse_too_much(original, decoded * count)
            kept = values[: max(0, said - decoded + len(values))] if said else values
            held.append(kept)
            if sum(len(each) for each in held) >= SEGMENT:
                joined = np.concatenate(held)
                watch.add(joined)
                if len(segments) < 400 and len(joined) >= SEGMENT:
                    segments.append(joined[:SEGMENT, 0])
                held = []
    except EOFError:
        troubles.append(_broke_off(decoded / rate, said / rate if said else None))
    if held:
        watch.add(np.concatenate(held))
    original.check()
    if watch.samples == 0:
        raise refusal(
            original.path, say("no sample can be decoded"), allowed=say("at least one sample")
        )
    troubles += _padded(codec, decoded, said, watch.samples, rate, kind)
    return Recording(
        original.path, original.sha256, original.size, kind, channels, rate, watch.samples,
        (watch.samples - 1) / rate, PhoneSource(file, rate, own, watch.samples),
        troubles=(
            *troubles, *watch.troubles(), *(narrow(segments, rate) if rate >= 16000 else ())
        ),
    )  # fmt: skip


def _broke_off(decoded: float, said: float | None) -> Trouble:
    if said:
        words = say(
            "The file breaks off: {said:.4g} s are promised, and {decoded:.4g} s can be decoded"
            " and were read.",
            said=said,
            decoded=decoded,
        )
    else:
        words = say(
            "The file breaks off: {decoded:.4g} s can be decoded and were read.", decoded=decoded
        )
    return Trouble("truncated", words, decoded)


def _padded(
    codec: str, decoded: int, said: int | None, kept: int, rate: float, kind: str
) -> list[Trouble]:
    """What the coding put around the sound: whole frames, so never quite the length recorded."""
    if said is not None and decoded > kept:
        words = say(
            "{samples} samples ({time:.3g} ms) that the {codec} coding added at the end"
            " were left out.",
            samples=decoded - kept,
            time=(decoded - kept) / rate * 1e3,
            codec=codec,
        )
        return [Trouble("padded", words, kept / rate)]
    if codec.startswith("aac") and kind not in _SEEKABLE:
        words = say(
            "The file does not say how much its {codec} coding put before the sound:"
            " about {samples} samples ({time:.3g} ms). Times from one sound to another"
            " are right; times from the beginning are late by that.",
            codec=codec,
            samples=_PRIMING,
            time=_PRIMING / rate * 1e3,
        )
        return [Trouble("padded", words, 0.0)]
    return []
