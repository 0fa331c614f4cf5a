"""Tables of numbers read by the page: one way for CSV, Parquet, MDF4 and numbers in memory."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later, say
from tripmargin.recordings.reading.noticing import FlatWatch
from tripmargin.recordings.reading.options import Options
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.reading.time_watch import TimeVerdict, TimeWatch, rising
from tripmargin.recordings.recording import BLOCK, Block, Channel, Guess, Recording, Trouble

Floats = NDArray[np.float64]
_ALIKE = 0.01  # rates nearer than this agree


@dataclass(frozen=True)
class Page:
    """Some rows of a table.

    Attributes
    ----------
    stamps
        (n,) s as the file has them, None where it has none.
    values
        (n, k) of the columns asked for.
    lines
        (n,) line of the file in which each row stands, where it has lines.
    """

    stamps: Floats | None
    values: Floats
    lines: NDArray[np.intp] | None = None


class Pages(Protocol):
    """A table that gives its pages, from any of them on."""

    def pages(self, columns: Sequence[int], first: int = 0) -> Iterator[Page]:
        """Pages from the `first` on, with the columns in the order asked for."""
        ...


@dataclass(frozen=True)
class _Mark:
    """Where a page begins: rows before it, and the greatest stamp before it, s."""

    row: int
    latest: float


@dataclass(frozen=True)
class TableSource:
    """Blocks of a table whose pages were all seen once.

    `rate` not None: a row's time is its number over the rate, whatever the stamps say.
    """

    original: Original | None
    table: Pages
    marks: tuple[_Mark, ...]
    first: float  # the first stamp, s
    rate: float | None

    def blocks(self, columns: tuple[int, ...], start: float, stop: float) -> Iterator[Block]:
        """Blocks between two times; only the pages in which they lie are read."""
        number = self._page_of(start)
        mark = self.marks[number]
        row, latest = mark.row, mark.latest
        for page in self.table.pages(columns, number):
            values, count = page.values, len(page.values)
            if self.rate is not None:
                times = (row + np.arange(count)) / self.rate
            else:
                assert page.stamps is not None
                times = page.stamps - self.first
                read = np.isfinite(times)
                times, values = times[read], values[read]
                kept = rising(times, latest) if len(times) else np.empty(0, np.bool_)
                latest = max(latest, float(times.max(initial=-np.inf)))
                if not kept.all():
                    times, values = times[kept], values[kept]
            row += count
            if len(times) and times[0] > stop:
                return
            begin, end = np.searchsorted(times, start), np.searchsorted(times, stop, "right")
            for k in range(int(begin), int(end), BLOCK):
                some = slice(k, min(k + BLOCK, int(end)))
                yield Block(times[some], values[some])
            if self.original is not None:
                self.original.check()

    def _page_of(self, start: float) -> int:
        """The last page before which all times lie before `start`."""
        if self.rate is not None:
            rate = self.rate
            found = bisect_right(self.marks, start, key=lambda mark: mark.row / rate)
        else:
            found = bisect_left(self.marks, start, key=lambda mark: mark.latest)
        return max(found - 1, 0)


def survey(
    original: Original,
    kind: str,
    table: Pages,
    channels: tuple[Channel, ...],
    watch: TimeWatch,
    options: Options,
    *,
    timed: bool,
    guesses: tuple[Guess, ...],
    rate: float | None = None,
    began: str = "",
) -> Recording:
    """The recording of a table, every page seen once and none kept.

    Parameters
    ----------
    timed
        Whether the table has stamps.
    rate
        Samples a second, where the table has no stamps or they shall not count.

    Raises
    ------
    RecordingError
        Where there is no row, or the times are not usable.
    """
    flat = FlatWatch(channels)
    marks: list[_Mark] = []
    for page in table.pages(range(len(channels))):
        marks.append(_Mark(watch.rows, watch.latest))
        if timed and page.stamps is not None:
            watch.add(page.stamps, page.lines)
        else:
            watch.rows += len(page.values)
        flat.add(page.values)
    original.check()
    if watch.rows == 0:
        raise refusal(
            original.path, say("no row of numbers is in it"), allowed=say("at least one row")
        )
    verdict, lies = _verdict(watch, options.rate, timed, rate)
    by_rows = verdict.rate if verdict.by_rows else None
    first = 0.0 if np.isnan(watch.first) else watch.first
    source = TableSource(original, table, tuple(marks), first, by_rows)

    def time_of(row: int) -> float:
        step = verdict.duration / max(watch.rows - 1, 1)
        return row / by_rows if by_rows else row * step

    return Recording(
        original.path, original.sha256, original.size, kind, channels, verdict.rate,
        verdict.samples, verdict.duration, source,
        guesses=(*guesses, *verdict.guesses),
        troubles=(*verdict.troubles, *lies, *flat.troubles(time_of)),
        began=began,
    )  # fmt: skip


_ASKED_LIES = later(
    "The rate given is {said:.6g} Hz, but the file's own times come to {own:.6g} Hz; the one given"
    " counts."
)
_HEAD_LIES = later(
    "The rate in the file's head is {said:.6g} Hz, but the file's own times come to {own:.6g} Hz;"
    " the times count."
)


def _verdict(
    watch: TimeWatch, asked: float | None, timed: bool, said: float | None
) -> tuple[TimeVerdict, tuple[Trouble, ...]]:
    """What the stamps come to, or the rate asked for; and where the two disagree."""
    if not timed:
        rate = float(asked or said or 0.0)
        return TimeVerdict(rate, True, watch.rows, (watch.rows - 1) / rate), ()
    if asked is not None:
        verdict = TimeVerdict(float(asked), True, watch.rows, (watch.rows - 1) / asked)
        own = (watch.rows - 1) / watch.last if watch.last > 0 else None
        return verdict, _lies(asked, own, _ASKED_LIES)
    verdict = watch.verdict()
    return verdict, _lies(said, verdict.rate, _HEAD_LIES)


def _lies(said: float | None, own: float | None, words: str) -> tuple[Trouble, ...]:
    if said is None or own is None or abs(own / said - 1) <= _ALIKE:
        return ()
    return (Trouble("rate", say(words, said=said, own=own)),)
