"""What the time stamps of a table say: the rate, gaps, repeated and backward stamps."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say, say_many
from tripmargin.ground.units import percent
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.reading.time_words import backward_words, gap_words, repeated_words
from tripmargin.recordings.recording import Guess, Trouble

Floats = NDArray[np.float64]
_PART = 512  # rows told of together
_EVEN = 0.01  # of a step: finer unevenness is none
_GAP = 1.5  # steps
_FEW = 0.01  # of all rows: more troubles than this are no accident
_TOLD = 3
_ENOUGH = 4096  # rows from which a slope is taken


@dataclass(frozen=True)
class TimeVerdict:
    """What the stamps come to.

    Attributes
    ----------
    rate
        Hz, None where the times are uneven.
    by_rows
        True where the stamps are too coarse to tell rows apart, and each row's number times the
        step is the better time.
    samples, duration
        Rows with a time of their own, and s from the first to the last.
    """

    rate: float | None
    by_rows: bool
    samples: int
    duration: float
    guesses: tuple[Guess, ...] = ()
    troubles: tuple[Trouble, ...] = ()


@dataclass
class TimeWatch:
    """Follows stamps page by page.

    Parameters
    ----------
    path
        For words.
    grain
        Finest difference that the stamps can show, s; 0 where they are exact.
    relative
        The same as a share of the stamp: single-precision times.
    """

    path: Path
    grain: float = 0.0
    relative: float = 0.0
    rows: int = 0
    first: float = np.nan
    latest: float = -np.inf  # the greatest stamp so far, from the first
    last: float = np.nan  # the last stamp, from the first
    kept: int = 0
    _unread: int = 0
    _repeated: list[tuple[int, float]] = field(default_factory=list)
    _backward: list[tuple[int, float, float]] = field(default_factory=list)
    _lost: int = 0
    _step: float = np.nan
    _off: float = 0.0  # largest difference of a step from the usual one, gaps apart
    _shortest: float = np.inf
    _gaps: list[tuple[float, float]] = field(default_factory=list)
    _gap_count: int = 0
    _missing: float = 0.0  # s
    _slope: float = np.nan  # of the first rows, s a row
    _held: list[tuple[Floats, NDArray[np.intp]]] = field(default_factory=list)
    _parts: list[Floats] = field(default_factory=list)

    def add(self, stamps: Floats, lines: NDArray[np.intp] | None) -> None:
        """The next rows' stamps, s, as written; nan where one could not be read."""
        if not len(stamps):
            return
        number = self.rows + np.arange(len(stamps))
        self.rows += len(stamps)
        read = np.isfinite(stamps)
        self._unread += int(np.count_nonzero(~read))
        if not read.all():
            number, stamps = number[read], stamps[read]
            lines = lines[read] if lines is not None else None
            if not len(stamps):
                return
        if np.isnan(self.first):
            self.first = float(stamps[0])
        times = stamps - self.first
        kept = rising(times, self.latest)
        if not kept.all():
            self._note_lost(times, ~kept, number, lines)
        self._note_steps(times[kept])
        self._note_line(times, number)
        self.latest = max(self.latest, float(times.max()))
        self.last = float(times[-1])
        self.kept += int(np.count_nonzero(kept))

    def _note_lost(
        self, times: Floats, lost: NDArray[np.bool_], number: NDArray[np.intp],
        lines: NDArray[np.intp] | None,
    ) -> None:  # fmt: skip
        before = np.concatenate([[self.last if self.rows else np.nan], times[:-1]])
        highest = np.maximum.accumulate(np.concatenate([[self.latest], times]))[:-1]
        self._lost += int(np.count_nonzero(lost))
        for k in np.flatnonzero(lost):
            where = int(lines[k] if lines is not None else number[k] + 1)
            if times[k] == before[k] or times[k] == highest[k]:
                if len(self._repeated) < _TOLD:
                    self._repeated.append((where, float(times[k])))
            elif len(self._backward) < _TOLD:
                self._backward.append((where, float(highest[k]), float(times[k])))
            if len(self._repeated) >= _TOLD and len(self._backward) >= _TOLD:
                break

    def _note_steps(self, times: Floats) -> None:
        if not len(times):
            return
        start = [self.latest] if np.isfinite(self.latest) else []
        steps = np.diff(np.concatenate([start, times]))
        if not len(steps):
            return
        if np.isnan(self._step):
            self._step = float(np.median(steps))
        wide = steps > _GAP * self._step
        self._shortest = min(self._shortest, float(steps.min()))
        even = steps[~wide]
        if len(even):
            self._off = max(self._off, float(np.abs(even - self._step).max()))
        self._gap_count += int(np.count_nonzero(wide))
        self._missing += float((steps[wide] - self._step).sum())
        for k in np.flatnonzero(wide)[: max(0, _TOLD - len(self._gaps))]:
            end = times[k + len(times) - len(steps)]
            self._gaps.append((float(end - steps[k]), float(steps[k])))

    def _note_line(self, times: Floats, number: NDArray[np.intp], last: bool = False) -> None:
        """How far stamps lie from an even row of them, a few hundred rows at a time."""
        self._held.append((times, number))
        if np.isnan(self._slope) and not last and sum(len(t) for t, _ in self._held) < _ENOUGH:
            return
        times = np.concatenate([t for t, _ in self._held])
        number = np.concatenate([n for _, n in self._held])
        self._held.clear()
        if not len(times):
            return
        if np.isnan(self._slope):
            rows = max(int(number[-1] - number[0]), 1)
            self._slope = float(times[-1] - times[0]) / rows
        off = times - self._slope * number
        begins = np.arange(0, len(times), _PART)
        lows, highs = np.minimum.reduceat(off, begins), np.maximum.reduceat(off, begins)
        ends = np.minimum(begins + _PART, len(times)) - 1
        middle = (number[begins] + number[ends]) / 2
        self._parts.append(np.column_stack([lows, highs, middle]))

    def verdict(self) -> TimeVerdict:
        """What all stamps come to.

        Raises
        ------
        RecordingError
            Where too many stamps are repeated, run backward or cannot be read.
        """
        if self.kept == 0:
            raise refusal(self.path, say("no row has a time"), allowed=say("a time in each row"))
        if self.rows == 1 or self.rows - self._unread == 1:
            return TimeVerdict(None, False, 1, 0.0, (), self._troubles(True))
        grain = max(self.grain, self.relative * abs(self.last), 4e-16 * abs(self.latest))
        even = self._off <= max(_EVEN * self._step, 2 * grain)
        slope = self.last / (self.rows - 1 - self._unread) if self.rows > 1 else np.nan
        on_a_line = self._on_a_line(slope, grain)
        if on_a_line and (self._lost or self._off > _EVEN * self._step) and not self._unread:
            return self._by_rows(slope, grain)
        self._refuse_too_many()
        troubles = self._troubles(even)
        rate = None
        if even and not self._gap_count and self.latest > 0:
            rate = rounded_within((self.kept - 1) / self.latest, max(2 * grain / self.latest, 1e-9))
        return TimeVerdict(rate, False, self.kept, self.latest, (), troubles)

    def _on_a_line(self, slope: float, grain: float) -> bool:
        if not slope > 0:
            return False
        self._note_line(np.empty(0), np.empty(0, np.intp), last=True)
        parts = np.concatenate(self._parts)
        shift = (slope - self._slope) * parts[:, 2]
        slack = abs(slope - self._slope) * _PART
        width = float((parts[:, 1] - shift).max() - (parts[:, 0] - shift).min())
        return width <= max(2.1 * grain, 2 * _EVEN * slope) + slack

    def _by_rows(self, slope: float, grain: float) -> TimeVerdict:
        rate = rounded_within(1 / slope, max(2 * grain / max(self.last, slope), 1e-9))
        rows = round(grain * rate)
        because = say(
            "the stamps are written to {grain:.4g} ms, finer than which the rows come, and on the"
            " whole they rise evenly",
            grain=grain * 1e3,
        )
        if rows > 1:
            because = say(
                "the stamps are written to {grain:.4g} ms, about {rows} rows share each, and on"
                " the whole they rise evenly",
                grain=grain * 1e3,
                rows=rows,
            )
        guess = Guess("times", say("row number at {rate:.8g} Hz", rate=rate), because, "rate")
        few = self._lost <= max(_TOLD, _FEW * self.rows)
        troubles = self._lost_troubles(kept=True) if few else ()
        return TimeVerdict(rate, True, self.rows, (self.rows - 1) / rate, (guess,), troubles)

    def _refuse_too_many(self) -> None:
        hint = say(
            "If the rows were taken evenly, give their rate (rate=1000) and the stamps are left."
        )
        if self._lost > max(_TOLD, _FEW * self.rows):
            if self._backward:
                line, high, time = self._backward[0]
                what = say(
                    "time goes back from {high:.9g} s to {time:.9g} s; so do {lost} of {rows} rows",
                    high=high,
                    time=time,
                    lost=self._lost,
                    rows=self.rows,
                )
            else:
                line, time = self._repeated[0]
                what = say(
                    "the time {time:.9g} s comes again; so do {lost} of {rows} rows",
                    time=time,
                    lost=self._lost,
                    rows=self.rows,
                )
            anew = say("Or cut the file where the logger started anew.")
            raise refusal(
                self.path,
                what,
                line=line,
                where="time",
                value=f"{time:.9g} s",
                allowed=say("times that rise from row to row"),
                hint=f"{hint} {anew}",
            )
        if self._unread > max(_TOLD, _FEW * self.rows):
            raise refusal(
                self.path,
                say(
                    "{unread} of {rows} rows have no time that can be read",
                    unread=self._unread,
                    rows=self.rows,
                ),
                where="time",
                allowed=say("a time in each row"),
                hint=hint,
            )

    def _lost_troubles(self, kept: bool) -> tuple[Trouble, ...]:
        """Stamps that do not rise, and whether their rows were kept."""
        if self._repeated:
            line, time = self._repeated[0]
            words = repeated_words(self._lost, kept, line, time)
            return (Trouble("repeated time", words, time),)
        if self._backward:
            line, high, time = self._backward[0]
            words = backward_words(self._lost, kept, line, high, time)
            return (Trouble("backward time", words, time),)
        return ()

    def _troubles(self, even: bool) -> tuple[Trouble, ...]:
        made = list(self._lost_troubles(kept=False))
        if self._unread:
            words = say_many(
                "1 row left out: no time in it.",
                "{count} rows left out: no time in them.",
                self._unread,
            )
            made.append(Trouble("unreadable", words))
        many = self._gap_count > max(10, _FEW * self.kept)
        if self._gap_count and not many:
            place, length = max(self._gaps, key=lambda gap: gap[1])
            share = percent(self._missing / self.latest)
            words = gap_words(self._gap_count, self._missing, share, len(self._gaps), length, place)
            made.append(Trouble("gap", words, place))
        if not even or many:
            longest = max(self._step + self._off, *(length for _, length in self._gaps), 0.0)
            words = say(
                "The times are uneven: usually {step:.4g} s from one to the next, but"
                " {shortest:.4g} s to {longest:.4g} s occur.",
                step=self._step,
                shortest=self._shortest,
                longest=longest,
            )
            made.append(Trouble("uneven", words))
        return tuple(made)


def rising(times: Floats, latest: float) -> NDArray[np.bool_]:
    """Which stamps lie behind all before them; `latest` is the greatest before the first."""
    highest = np.maximum.accumulate(np.concatenate([[latest], times[:-1]]))
    return np.asarray(times > highest)


def rounded_within(value: float, tolerance: float) -> float:
    """The roundest number within a relative tolerance of a value.

    >>> rounded_within(10000.0003, 1e-6), rounded_within(3333.3333, 1e-9)
    (10000.0, 3333.3333)
    """
    for digits in range(1, 12):
        rounded = float(f"{value:.{digits}g}")
        if abs(rounded - value) <= tolerance * abs(value):
            return rounded
    return value
