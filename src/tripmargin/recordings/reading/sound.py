"""WAV, FLAC and what else the sound library reads, by the block."""

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
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.reading.sound_watch import SEGMENT, SoundWatch, narrow
from tripmargin.recordings.reading.unpacking import refuse_too_much
from tripmargin.recordings.reading.wav_header import Patched, WavHeader, patches, wav_header
from tripmargin.recordings.recording import (
    BLOCK,
    Block,
    Channel,
    Guess,
    Recording,
    RecordingError,
    Trouble,
)

Floats = NDArray[np.float64]
_SMALL = 1024  # samples at a time where a larger block could not be decoded
_WIDE = 8  # channels, from which fewer samples are taken at a time
_LOOKED_AT = 32  # stretches whose spectrum is taken
_RATES = (1000.0, 800_000.0)  # Hz, of sound files that can be believed


@dataclass(frozen=True)
class SoundFile:
    """A sound file that is opened anew for each reading."""

    original: Original
    patches: dict[int, bytes]

    @contextmanager
    def open(self) -> Iterator[Any]:
        """The sound library's file.

        Raises
        ------
        RecordingError
            Where the library cannot make sense of it.
        """
        import soundfile

        with self.original.open() as file:
            try:
                opened = soundfile.SoundFile(Patched(file, self.patches))
            except soundfile.LibsndfileError as error:
                why = error.error_string.rstrip(".")
                raise refusal(
                    self.original.path,
                    say("this sound cannot be read: {why}", why=why),
                    allowed=say("WAV with 8 to 32 bits or floating point, FLAC"),
                    hint=say("Copy it from the recorder again, or save it as 16-bit WAV."),
                ) from error
            with opened:
                yield opened

    def pieces(self, begin: int, end: int, size: int = BLOCK) -> Iterator[Floats]:
        """Samples from one number to another, (n, channels) from -1 to 1, `size` at a time.

        Raises
        ------
        EOFError
            Where the library can decode no further.
        """
        import soundfile

        broken: Exception | None = None
        with self.open() as opened:
            try:
                if begin:
                    opened.seek(begin)
                most = max(_SMALL, _WIDE * size // max(opened.channels, _WIDE))
                while begin < end:
                    wanted = min(most, end - begin)
                    values = opened.read(wanted, dtype="float64", always_2d=True)
                    if not len(values):
                        return
                    begin += len(values)
                    yield values
                    self.original.check()
            except soundfile.LibsndfileError as error:
                broken = error
        if broken is None:
            return
        if size <= _SMALL:
            raise EOFError(str(broken)) from broken
        yield from self.pieces(begin, end, _SMALL)  # what a large block loses, small ones keep


@dataclass(frozen=True)
class SoundSource:
    """Blocks of a sound."""

    file: SoundFile
    rate: float
    samples: int

    def blocks(self, columns: tuple[int, ...], start: float, stop: float) -> Iterator[Block]:
        """Blocks between two times; only they are decoded."""
        begin, end = sample_range(self.rate, self.samples, start, stop)
        for values in self._decoded(begin, end):
            times = (begin + np.arange(len(values))) / self.rate
            begin += len(values)
            yield Block(times, values[:, list(columns)])

    def _decoded(self, begin: int, end: int) -> Iterator[Floats]:
        """As far as it can be decoded; the first look has told where it breaks off."""
        with suppress(EOFError):
            yield from self.file.pieces(begin, end)


def sample_range(rate: float, samples: int, start: float, stop: float) -> tuple[int, int]:
    """First sample at or after a time, and the one behind the last at or before another."""
    begin = max(0, int(np.ceil(start * rate - 1e-6))) if np.isfinite(start) else 0
    end = samples if not np.isfinite(stop) else int(np.floor(stop * rate + 1e-6)) + 1
    return min(begin, samples), max(0, min(end, samples))


def read_sound(original: Original, options: Options, kind: str) -> Recording:
    """A recording from a sound file.

    Raises
    ------
    RecordingError
        Where the file cannot be decoded, or its rate is none.
    """
    options.only_for(original.path, kind, "rate", "units")
    header = wav_header(original) if kind == "WAV" else None
    file = SoundFile(original, patches(header, options.rate) if header else {})
    if header is not None and header.rate == 0 and options.rate is None:
        raise _no_rate(original, "0")
    with file.open() as opened:
        own, frames, count = float(opened.samplerate), int(opened.frames), int(opened.channels)
    rate = options.rate or own
    if options.rate is None and not _RATES[0] <= own <= _RATES[1]:
        raise _no_rate(original, f"{own:g}")
    names = [f"channel {k}" for k in range(1, count + 1)]
    channels = tuple(Channel(name, options.units.get(name, "")) for name in names)
    watch = SoundWatch(channels, rate)
    troubles = list(_header_troubles(header, rate)) if header else []
    try:
        for values in file.pieces(0, frames):
            watch.add(values)
            refuse_too_much(original, watch.samples * count)
    except EOFError:
        troubles.append(_broke_off(watch.samples, frames, rate))
    original.check()
    if watch.samples == 0:
        raise refusal(
            original.path,
            say("no sample is in it, only a header"),
            allowed=say("at least one sample"),
            hint=say("Copy it from the recorder again."),
        )
    segments = _segments(file, watch.samples) if rate >= 16000 else []
    return Recording(
        original.path, original.sha256, original.size, kind, channels, rate, watch.samples,
        (watch.samples - 1) / rate, SoundSource(file, rate, watch.samples),
        guesses=_guesses(header, options),
        troubles=(*troubles, *watch.troubles(), *narrow(segments, rate)),
        began=header.began if header else "",
    )  # fmt: skip


def _no_rate(original: Original, seen: str) -> RecordingError:
    return refusal(
        original.path,
        say("no rate that sound is recorded at"),
        where=say("samples a second"),
        value=seen,
        allowed=say("{least:g} to {most:g} Hz", least=_RATES[0], most=_RATES[1]),
        hint=say("Say it yourself: rate=48000."),
    )


def _segments(file: SoundFile, samples: int) -> list[Floats]:
    """Stretches of the first channel all through the sound."""
    count = min(_LOOKED_AT, samples // SEGMENT)
    made = []
    for k in range(count):
        begin = (samples - SEGMENT) * k // max(count - 1, 1)
        try:
            made += [values[:, 0] for values in file.pieces(begin, begin + SEGMENT)]
        except EOFError:
            break
    return [each for each in made if len(each) == SEGMENT]


def _broke_off(samples: int, frames: int, rate: float) -> Trouble:
    words = say(
        "The file breaks off: {promised:.4g} s are promised, {read:.4g} s can be"
        " decoded and were read.",
        promised=frames / rate,
        read=samples / rate,
    )
    return Trouble("truncated", words, samples / rate)


def _header_troubles(header: WavHeader, rate: float) -> Iterator[Trouble]:
    """Where the header and what is there do not agree."""
    bytes_a_second = rate * header.frame
    there = header.there / bytes_a_second if bytes_a_second else 0.0
    if header.has_no_length:
        words = say(
            "The header gives no length: the recorder was cut off before it wrote it."
            " All that is there, {there:.4g} s, was read.",
            there=there,
        )
        yield Trouble("truncated", words, there)
    elif header.said > header.there and header.plain:
        words = say(
            "The file is cut off: its header promises {said:.4g} s, and {there:.4g} s"
            " are there and were read.",
            said=header.said / bytes_a_second,
            there=there,
        )
        yield Trouble("truncated", words, there)
    elif header.goes_on and header.plain:
        words = say(
            "The header gives {said:.4g} s, but samples go on behind; all {there:.4g} s were read.",
            said=header.said / bytes_a_second,
            there=there,
        )
        yield Trouble("truncated", words, header.said / bytes_a_second)
    if header.contradicts_itself and header.rate and header.frame:
        words = say(
            "The header contradicts itself: {rate} samples a second, but by its bytes a"
            " second {by_bytes:.6g}. {taken:g} Hz was taken; if it is wrong, every time"
            " is: say rate=.",
            rate=header.rate,
            by_bytes=header.byte_rate / header.frame,
            taken=rate,
        )
        yield Trouble("rate", words)


def _guesses(header: WavHeader | None, options: Options) -> tuple[Guess, ...]:
    """The rate, where the header leaves a doubt."""
    if options.rate is not None or header is None or not header.contradicts_itself:
        return ()
    because = say("the header's samples a second count before its bytes a second")
    return (Guess("rate", f"{header.rate}", because, "rate"),)
