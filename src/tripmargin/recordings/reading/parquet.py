"""Parquet, row group by row group."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.naming import Named, named
from tripmargin.recordings.reading.options import Options
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import needs_extra, refusal
from tripmargin.recordings.reading.table import Page, survey
from tripmargin.recordings.reading.time_column import (
    NumericTime,
    counts_rows,
    looks_like_time,
    numeric_time,
)
from tripmargin.recordings.reading.time_watch import TimeWatch
from tripmargin.recordings.reading.unpacking import DENSEST, refuse_too_much
from tripmargin.recordings.recording import Channel, Guess, Recording, RecordingError

Floats = NDArray[np.float64]
_ROWS = 1 << 16  # at a time
_SAMPLED = 200
_PART = 1 << 28  # bytes of one column in one row group, unpacked
_TICKS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9}


@dataclass(frozen=True)
class ParquetPages:
    """The rows of a Parquet file: a page is part of one row group.

    `time` is the name of the time's column, with `number` where it holds numbers, or the first
    stamp as a whole number and the length of its tick, s.
    """

    original: Original
    names: tuple[str, ...]
    time: str | None
    number: NumericTime | None
    first_tick: int
    tick: float
    starts: tuple[tuple[int, int], ...]  # row group and first row in it, of each page

    def pages(self, columns: Sequence[int], first: int = 0) -> Iterator[Page]:
        """Pages of some channels."""
        import pyarrow

        chosen = [self.names[k] for k in columns]
        wanted = list(dict.fromkeys([*chosen, *([self.time] if self.time else [])]))
        group, row = self.starts[first]
        try:
            for batch in self._batches(group, row, wanted):
                yield self._page(batch, chosen)
        except (pyarrow.ArrowException, OSError, ValueError, OverflowError) as error:
            raise _damaged(self.original, error) from error

    def _batches(self, group: int, row: int, wanted: list[str]) -> Iterator[Any]:
        """Rows from one row of a row group on."""
        import pyarrow.parquet as parquet

        with self.original.open() as file, parquet.ParquetFile(file) as opened:
            while group < opened.num_row_groups:
                passed = 0
                for batch in opened.iter_batches(_ROWS, row_groups=[group], columns=wanted):
                    passed += batch.num_rows
                    if passed > row:
                        yield batch
                group, row = group + 1, 0

    def _page(self, batch: Any, chosen: list[str]) -> Page:
        stamps = None
        if self.time is not None:
            stamps = self._stamps(batch.column(self.time))
        values = [_floats(batch.column(name)) for name in chosen]
        empty = np.empty((batch.num_rows, 0))
        return Page(stamps, np.column_stack(values) if values else empty)

    def _stamps(self, column: Any) -> Floats:
        if self.number is not None:
            return (_floats(column) - self.number.origin) * self.number.factor
        import pyarrow

        ticks = column.cast(pyarrow.int64())
        lost = np.asarray(ticks.is_null().to_numpy(zero_copy_only=False))
        whole = ticks.fill_null(self.first_tick).to_numpy(zero_copy_only=False)
        return np.where(lost, np.nan, (whole - self.first_tick) * self.tick)


def _damaged(original: Original, error: Exception) -> RecordingError:
    why = str(error).strip().rstrip(".")
    return refusal(
        original.path,
        say("the Parquet file is damaged: {why}", why=why),
        allowed=say("a whole file"),
        hint=say("Copy it again: the copy or the writing broke off."),
    )


def _floats(column: Any) -> Floats:
    """Numbers of a column; nan where it has none."""
    import pyarrow

    return np.asarray(
        column.cast(pyarrow.float64(), safe=False).to_numpy(zero_copy_only=False), np.float64
    )


def read_parquet(original: Original, options: Options, kind: str) -> Recording:
    """A recording from a Parquet file.

    Raises
    ------
    RecordingError
        Where the library is missing, the file is damaged, or no column holds numbers.
    """
    options.only_for(original.path, kind, "time", "rate", "units")
    try:
        import pyarrow
        import pyarrow.parquet as parquet
    except ImportError as error:
        raise needs_extra(original.path, kind, "pyarrow") from error
    try:
        with original.open() as file, parquet.ParquetFile(file) as opened:
            schema = opened.schema_arrow
            usable = [each.name for each in schema if _is_number(each.type) or _is_stamp(each.type)]
            _refuse_bombs(original, opened.metadata, len(usable))
            starts = _starts(opened.metadata)
            head = next(opened.iter_batches(_SAMPLED, columns=usable), None)
    except (pyarrow.ArrowException, OSError, ValueError, OverflowError) as error:
        raise _damaged(original, error) from error
    if head is None or not starts:
        raise refusal(original.path, say("no row is in it"), allowed=say("at least one row"))
    fields = {field.name: field.type for field in schema}
    numeric = [name for name, kind_ in fields.items() if _is_number(kind_)]
    time, number, tick, guesses = _time(fields, numeric, head, options, original)
    guesses += [
        Guess("left out", name, say("it holds no numbers"), "time")
        for name in fields
        if name not in numeric and name != time
    ]
    names = tuple(name for name in numeric if name != time and not _index(name, head, fields))
    if not names:
        raise refusal(
            original.path,
            say("no column of numbers beside the time"),
            allowed=say("one column of numbers at least"),
        )
    if time is None and options.rate is None:
        raise refusal(
            original.path,
            say("no column is the time"),
            where="time",
            allowed=say("a column, or the rate"),
            hint=say(
                "Say rate=1000 (samples a second), or time=NAME, one of {names}.",
                names=", ".join(numeric),
            ),
        )
    first = 0
    if time is not None and number is None:
        first = int(head.column(time).cast(pyarrow.int64())[0].as_py() or 0)
    pages = ParquetPages(original, names, time, number, first, tick, starts)
    columns = [named(name) for name in names]
    channels = tuple(
        Channel(each.name, options.units.get(each.name, each.unit)) for each in columns
    )
    watch = TimeWatch(original.path, grain=tick if number is None else 0.0)
    return survey(
        original, kind, pages, channels, watch, options, timed=time is not None,
        guesses=tuple(guesses),
    )  # fmt: skip


def _refuse_bombs(original: Original, metadata: Any, columns: int) -> None:
    """Refuse a small file that promises far more than it can hold in earnest.

    Raises
    ------
    RecordingError
        Where the numbers are too many, or one column's part would fill the memory: the library
        unpacks it by the page, and a page may be as long as the part.
    """
    refuse_too_much(original, metadata.num_rows * columns)
    for group in range(metadata.num_row_groups):
        for k in range(metadata.num_columns):
            part = metadata.row_group(group).column(k)
            size, packed = part.total_uncompressed_size, part.total_compressed_size
            if size > _PART and size > DENSEST * max(packed, 1):
                raise refusal(
                    original.path,
                    say(
                        "a part of {packed:,} bytes that unpacks into {size:,}",
                        packed=packed,
                        size=size,
                    ),
                    where=say("column {number} ({name})", number=k + 1, name=part.path_in_schema),
                    allowed=say(
                        "{most:,} bytes from any part, more only up to {each} for each of"
                        " its bytes",
                        most=_PART,
                        each=DENSEST,
                    ),
                    hint=say("Write the file again with smaller row groups."),
                )


def _starts(metadata: Any) -> tuple[tuple[int, int], ...]:
    """Row group and row at which each page begins."""
    return tuple(
        (group, row)
        for group in range(metadata.num_row_groups)
        for row in range(0, metadata.row_group(group).num_rows, _ROWS)
    )


def _is_number(kind: Any) -> bool:
    import pyarrow.types as types

    return bool(
        types.is_integer(kind)
        or types.is_floating(kind)
        or types.is_boolean(kind)
        or types.is_decimal(kind)
    )


def _is_stamp(kind: Any) -> bool:
    import pyarrow.types as types

    return bool(types.is_timestamp(kind) or types.is_duration(kind))


def _time(
    fields: dict[str, Any], numeric: list[str], head: Any, options: Options, original: Original
) -> tuple[str | None, NumericTime | None, float, list[Guess]]:
    """The time's column, how its numbers become seconds, the tick of its stamps, and why."""
    asked = options.time
    if asked is not None and str(asked).lower() == "none" and asked not in fields:
        return None, None, 1.0, []
    if asked is not None:
        name = list(fields)[int(asked) - 1] if str(asked).isdecimal() and str(
            asked
        ) not in fields and 0 < int(asked) <= len(fields) else str(asked)  # fmt: skip
        if name not in fields or not (_is_stamp(fields[name]) or name in numeric):
            raise refusal(
                original.path,
                say("there is no such column of times"),
                where="time",
                value=str(asked),
                allowed=say("none, or one of {names}", names=", ".join(fields)),
            )
        because = say("you said so")
        candidates = [name]
    else:
        because = ""
        stamped = [name for name, kind in fields.items() if _is_stamp(kind)]
        candidates = stamped or numeric
    for name in candidates:
        if _is_stamp(fields[name]):
            why = because or say("it holds {kind}", kind=fields[name])
            return name, None, _TICKS[fields[name].unit], [Guess("time", name, why, "time")]
        values = _floats(head.column(name)).tolist()
        column = named(name)
        why = because or looks_like_time(column, values, first=name == next(iter(fields)))
        if why:
            said = options.units.get(name, options.units.get(column.name))
            number, unit_guess = numeric_time(column, values, said)
            guesses = [Guess("time", name, why, "time"), *([unit_guess] if unit_guess else [])]
            return name, number, 1.0, guesses
    return None, None, 1.0, []


def _index(name: str, head: Any, fields: dict[str, Any]) -> bool:
    """Whether a column only numbers the rows, as data frames leave behind."""
    plain = Named("" if name.startswith("__index") else name)
    values = _floats(head.column(name)).tolist()
    return name.startswith("__index") and counts_rows(plain, values)
