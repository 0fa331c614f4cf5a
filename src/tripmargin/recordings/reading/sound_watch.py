"""What is wrong with a sound: silence, a band cut off by an earlier, slower recording."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say, say_many
from tripmargin.ground.units import percent
from tripmargin.recordings.reading.noticing import FlatWatch
from tripmargin.recordings.recording import Channel, Trouble

Floats = NDArray[np.float64]
_CELL = 0.01  # s
_SILENT = 0.05  # s of one and the same value, from which it is told
_QUIET = 1e-3  # of full scale: sound that never comes above it is hardly any
_BANDS, _SEGMENT = 128, 8192
_DROP, _WIDER = 30.0, 1.3  # dB over that ratio of frequencies: only a filter ends a sound so
_LOWEST_BAND = 12
_HIGHEST = 0.55  # of the file's band: codings for storage cut off above that


@dataclass
class SoundWatch:
    """Follows a sound block by block; samples run from -1 to 1.

    A damaged file of floating point may hold samples that are no numbers: they are counted and
    told, and say nothing about how loud it is.
    """

    channels: Sequence[Channel]
    rate: float
    samples: int = 0
    _flat: FlatWatch = field(init=False)
    _peaks: Floats = field(init=False)
    _silences: list[list[tuple[int, int]]] = field(init=False)
    _spoilt: dict[int, tuple[int, int]] = field(default_factory=dict)  # count, the first

    def __post_init__(self) -> None:
        self._flat = FlatWatch(self.channels, sound=True)
        self._peaks = np.zeros(len(self.channels))
        self._silences = [[] for _ in self.channels]
        self._cell = max(round(_CELL * self.rate), 2)

    def add(self, values: Floats) -> None:
        """The next (n, k) samples."""
        self._flat.add(values)
        cells = len(values) // self._cell
        for k in range(values.shape[1]):
            column = np.ascontiguousarray(values[:, k])
            read = np.isfinite(column)
            if not read.all():
                self._note_spoilt(k, read)
            if read.any():
                self._peaks[k] = max(self._peaks[k], float(np.abs(column[read]).max()))
            parts = column[: cells * self._cell].reshape(cells, self._cell)
            still = np.flatnonzero(parts.max(axis=1) == parts.min(axis=1)) if cells else ()
            for cell in still:
                self._still(k, self.samples + int(cell) * self._cell)
        self.samples += len(values)

    def _note_spoilt(self, k: int, read: NDArray[np.bool_]) -> None:
        """Samples that are no numbers: how many, and which is the first of them all."""
        count, first = self._spoilt.get(k, (0, self.samples + int(np.argmin(read))))
        self._spoilt[k] = (count + int(np.count_nonzero(~read)), first)

    def _still(self, k: int, at: int) -> None:
        """A cell without any movement."""
        stretches = self._silences[k]
        if stretches and at - stretches[-1][1] <= self._cell:
            stretches[-1] = (stretches[-1][0], at + self._cell)
        else:
            stretches.append((at, at + self._cell))

    def troubles(self) -> tuple[Trouble, ...]:
        """What was noticed."""
        found = list(self._flat.troubles(lambda sample: sample / self.rate))
        told = {each.channel for each in found if each.what == "silent"}
        for k, (count, first) in sorted(self._spoilt.items()):
            at = first / self.rate
            words = say_many(
                "Channel {name!r}: a sample is no number, the first at {at:.4g} s. The file is"
                " damaged: copy it from the recorder again.",
                "Channel {name!r}: {count} samples are no number, the first at {at:.4g} s. The file"
                " is damaged: copy it from the recorder again.",
                count,
                name=self.channels[k].name,
                at=at,
            )
            found.append(Trouble("unreadable", words, at))
        for k, channel in enumerate(self.channels):
            if k in told:
                continue
            if self._peaks[k] < _QUIET:
                words = say(
                    "Channel {name!r} is as good as silent: its loudest sample is"
                    " {loudest:.2g} of full scale. Was the microphone covered or muted?",
                    name=channel.name,
                    loudest=self._peaks[k],
                )
                found.append(Trouble("silent", words))
                continue
            found += self._stretches(k, channel)
        return tuple(found)

    def _stretches(self, k: int, channel: Channel) -> list[Trouble]:
        long = [each for each in self._silences[k] if each[1] - each[0] >= _SILENT * self.rate]
        if not long:
            return []
        begin, end = (edge / self.rate for edge in long[0])
        share = percent(sum(last - first for first, last in long) / self.samples)
        more = len(long) - 1
        if more:
            words = say_many(
                "Channel {name!r} does not move at all from {begin:.4g} s to {end:.4g} s and in one"
                " more stretch, {share} of the recording: sound is missing there.",
                "Channel {name!r} does not move at all from {begin:.4g} s to {end:.4g} s and in"
                " {count} more stretches, {share} of the recording: sound is missing there.",
                more,
                name=channel.name,
                begin=begin,
                end=end,
                share=share,
            )
        else:
            words = say(
                "Channel {name!r} does not move at all from {begin:.4g} s to {end:.4g} s, {share}"
                " of the recording: sound is missing there.",
                name=channel.name,
                begin=begin,
                end=end,
                share=share,
            )
        return [Trouble("silent", words, begin)]


def narrow(segments: Sequence[Floats], rate: float) -> tuple[Trouble, ...]:
    """Whether the sound ends at a frequency as only a slower recording's does.

    Parameters
    ----------
    segments
        Stretches of one channel, each of `SEGMENT` samples.
    """
    segments = [each for each in segments if np.isfinite(each).all()]
    loudest = max((float(np.abs(each).max()) for each in segments), default=0.0)
    if loudest <= 0:
        return ()
    window = np.hanning(_SEGMENT)
    power = np.zeros(_SEGMENT // 2)
    for each in segments:
        swing = each / loudest
        power += np.abs(np.fft.rfft((swing - swing.mean()) * window))[1 : _SEGMENT // 2 + 1] ** 2
    bands = power.reshape(_BANDS, -1).mean(axis=1)
    if bands.max() <= 0:
        return ()
    level = 10 * np.log10(bands / bands.max() + 1e-14)
    for band in range(_LOWEST_BAND, int(_HIGHEST * _BANDS)):
        below, above = level[band - 5 : band], level[round(_WIDER * band) :]
        if float(below.min() - above.max()) >= _DROP:
            last = np.flatnonzero(level > below.min() - 10)[-1]
            edge = (last + 1) / _BANDS * rate / 2
            words = say(
                "Nothing is heard above {edge:.3g} kHz: the sound was taken at a lower"
                " rate than the file's {rate:g} Hz, or coded for speech, and made over;"
                " instants are no finer than {finest:.2g} ms.",
                edge=edge / 1e3,
                rate=rate,
                finest=500 / edge,
            )
            return (Trouble("narrow", words),)
    return ()


SEGMENT = _SEGMENT
