"""Which column of a text is the time, and what its entries are in seconds."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.naming import Named
from tripmargin.recordings.reading.options import Options
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.reading.text.cells import Cells
from tripmargin.recordings.reading.text.sniffing import Written
from tripmargin.recordings.reading.text.stamps import DAY, date_order, seconds_of, stamps_of
from tripmargin.recordings.reading.text.words import CellReader
from tripmargin.recordings.reading.time_column import NumericTime, looks_like_time, numeric_time
from tripmargin.recordings.recording import Guess

Floats = NDArray[np.float64]
_HALF_DAY = DAY / 2
_PARTS = re.compile(r"\d+:\d+(?::\d+(?:[.,:](\d+))?)?|^\d+:\d+[.,](\d+)$")


@dataclass(frozen=True)
class Clock:
    """Reads the time of rows.

    Attributes
    ----------
    column
        Of the number, the stamp or the time of day; None where rows are counted.
    kind
        "n" number, "s" stamp, "c" time of day, as `Written.kinds` has them.
    number
        Of a column of numbers: its origin and unit.
    date
        Column of the date beside a time of day, or None.
    order
        "day first" or "month first".
    origin
        First stamp or time of day, s.
    grain
        Finest difference that the entries can show, s.
    """

    column: int | None
    kind: str = "n"
    number: NumericTime = NumericTime()
    date: int | None = None
    order: str = "day first"
    origin: float = 0.0
    grain: float = 0.0
    began: str = ""
    guesses: tuple[Guess, ...] = ()

    @property
    def columns(self) -> tuple[int, ...]:
        """All that the time takes up."""
        return tuple(each for each in (self.column, self.date) if each is not None)

    def of_text(self, cells: Cells, days: float, before: float) -> tuple[Floats, float, float]:
        """Times of rows whose entries are stamps, s; then days passed, and the last time of day.

        A time of day that falls by more than half a day has passed midnight; `days` (s) have been
        passed before these rows, and `before` is the last time of day among those.
        """
        assert self.column is not None
        times = stamps_of(cells, self.column, self.order, self.origin if self.date is None else 0.0)
        if self.date is not None:
            dates = stamps_of(cells, self.date, self.order, np.floor(self.origin / DAY) * DAY)
            return (dates + times - self.origin % DAY).round(9), 0.0, 0.0
        if self.kind != "c":
            return times, 0.0, 0.0
        read = ~np.isnan(times)
        seen = times[read]
        if not len(seen):
            return times, days, before
        falls = np.diff(np.concatenate([[before], seen])) < -_HALF_DAY
        passed = days + DAY * np.cumsum(falls)
        times[read] = (seen + passed).round(9)
        return times, float(passed[-1]), float(seen[-1])


def clock_of(
    how: Written,
    columns: Sequence[Named],
    samples: Sequence[Sequence[str]],
    tail: Sequence[Sequence[str]],
    options: Options,
    path: Path,
) -> Clock:
    """The time of a text's rows.

    Parameters
    ----------
    samples, tail
        Cells of rows from the beginning and from the end.

    Raises
    ------
    RecordingError
        Where the column asked for is not there or no time.
    """
    asked = _asked(options.time, columns, path)
    if asked == -1:
        return Clock(None)
    picked = [asked] if asked is not None else range(how.width)
    for kind in "s", "c":
        found = next((k for k in picked if how.kinds[k] == kind), None)
        if found is not None:
            return _by_stamps(found, kind, how, columns, samples, tail, asked is not None)
    reader = CellReader(how.decimal, how.thousands)
    for place in picked:
        if how.kinds[place] != "n":
            continue
        values = [reader.read(row[place]).value for row in samples]
        because = say("you said so")
        if asked is None:
            because = looks_like_time(columns[place], values, first="n" not in how.kinds[:place])
        if because:
            return _by_numbers(
                place, because, columns[place], values, options,
                _grain(place, how, [*samples[-30:], *tail]),
            )  # fmt: skip
    if asked is not None:
        raise refusal(
            path,
            say("this column holds no times"),
            where="time",
            value=str(options.time),
            allowed=say("a column of numbers, of dates with times, or of times"),
        )
    return Clock(None)


def _asked(time: str | int | None, columns: Sequence[Named], path: Path) -> int | None:
    """The column asked for, -1 for none at all, None where nothing was said."""
    if time is None:
        return None
    names = [each.name for each in columns]
    if isinstance(time, str) and names.count(time) == 1:
        return names.index(time)
    if str(time).lower() == "none":
        return -1
    number = int(time) if str(time).isdecimal() else 0
    if 1 <= number <= len(names):
        return number - 1
    listed = ", ".join(f"{k} {name!r}" for k, name in enumerate(names, start=1))
    raise refusal(
        path,
        say("there is no such column"),
        where="time",
        value=str(time),
        allowed=say("none, or one of {listed}", listed=listed),
    )


def _by_numbers(
    place: int, because: str, column: Named, values: Sequence[float], options: Options, grain: float
) -> Clock:
    number, unit_guess = numeric_time(column, values, options.units.get(column.name))
    guess = Guess("time", column.name or str(place + 1), because, "time")
    began = ""
    if number.since_1970:
        began = datetime.fromtimestamp(number.origin * number.factor, UTC).isoformat()
    return Clock(
        place, "n", number, grain=grain * number.factor, began=began,
        guesses=tuple(each for each in (guess, unit_guess) if each),
    )  # fmt: skip


def _by_stamps(
    place: int, kind: str, how: Written, columns: Sequence[Named],
    samples: Sequence[Sequence[str]], tail: Sequence[Sequence[str]], asked: bool,
) -> Clock:  # fmt: skip
    date = next((k for k in range(how.width) if how.kinds[k] == "d"), None) if kind == "c" else None
    whole = [row for row in (*samples, *tail) if len(row) == how.width and row[place]]
    dated = place if date is None else date
    order = date_order(whole[0][dated], whole[-1][dated])
    said = order or "day first"
    origin = seconds_of(whole[0][place], said)
    if date is not None:
        origin += seconds_of(whole[0][date], said)
    because = (
        say("you said so")
        if asked
        else say("its entries are times such as {first}", first=whole[0][place])
    )
    guesses = [Guess("time", columns[place].name or str(place + 1), because, "time")]
    if order is not None and whole[0][dated][:10] != whole[-1][dated][:10]:
        why = say(
            "so read, {first} to {last} is the shorter time",
            first=whole[0][dated],
            last=whole[-1][dated],
        )
        guesses.append(Guess("dates", order, why, "time"))
    found = [_PARTS.search(row[place]) for row in whole]
    parts = [len(each[1] or each[2] or "") for each in found if each]
    grain = 10.0 ** -max(parts, default=0)
    began = ""
    if kind == "s" or date is not None:
        began = datetime.fromtimestamp(origin, UTC).replace(tzinfo=None).isoformat()
    return Clock(
        place, kind, date=date, order=said, origin=origin, grain=grain, began=began,
        guesses=tuple(guesses),
    )  # fmt: skip


def _grain(place: int, how: Written, rows: Sequence[Sequence[str]]) -> float:
    """Finest difference that a column of numbers can show, in its own unit.

    Rows at the beginning and at the end count apart: numbers of so many significant figures lose
    decimals as they grow.
    """
    grains = []
    reader = CellReader(how.decimal, how.thousands)
    for some in (rows[: len(rows) // 2], rows[len(rows) // 2 :]):
        cells = [reader.parted(row[place])[0] for row in some if len(row) == how.width]
        finest = [_last_place(cell, how.decimal) for cell in cells if cell]
        if finest:
            grains.append(min(finest))
    return max(grains, default=0.0)


def _last_place(cell: str, decimal: str) -> float:
    """What the last figure of a number counts.

    >>> _last_place("0.001", "."), _last_place("1,25E-03", ","), _last_place("12", ".")
    (0.001, 1e-05, 1.0)
    """
    figures, _, power = cell.lower().partition("e")
    exponent = int(power) if power.lstrip("+-").isdecimal() else 0
    return float(f"1e{exponent - len(figures.partition(decimal)[2])}")
