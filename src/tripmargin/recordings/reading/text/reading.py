"""CSV and its kin: any delimiter, decimal sign, encoding and depth of header."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.naming import Named, unit_factor
from tripmargin.recordings.reading.options import DECIMALS, DELIMITERS, THOUSANDS, Options, word_for
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.reading.table import survey
from tripmargin.recordings.reading.text.clock import Clock, clock_of
from tripmargin.recordings.reading.text.file import TextFile, encoding_of
from tripmargin.recordings.reading.text.head import Head, head_of
from tripmargin.recordings.reading.text.notes import Notes
from tripmargin.recordings.reading.text.pages import TextPages
from tripmargin.recordings.reading.text.sniffing import Written, split, written
from tripmargin.recordings.reading.text.words import CellReader
from tripmargin.recordings.reading.time_column import counts_rows
from tripmargin.recordings.reading.time_watch import TimeWatch
from tripmargin.recordings.recording import Channel, Guess, Recording

_HEAD = 1 << 19  # bytes in which the numbers must begin
_SAMPLED = 200  # rows
_SPOT, _SPOTS = 4096, 8  # bytes looked at elsewhere in the file, and in how many places
OPTIONS = ("delimiter", "decimal", "thousands", "encoding", "header", "time", "rate", "units")


def read_text(original: Original, options: Options, kind: str) -> Recording:
    """A recording from a text of numbers.

    Raises
    ------
    RecordingError
        Where no rows of numbers are found, or they cannot be read as one table.
    """
    options.only_for(original.path, kind, *OPTIONS)
    with original.open() as opened:
        head_bytes = opened.read(_HEAD)
    encoding, begin, encoding_guess = encoding_of(original.path, head_bytes, options.encoding)
    file = TextFile.of(original, encoding, begin, head_bytes)
    lines = file.head(_HEAD)
    how = _written(file, lines, options)
    head = head_of(lines, how)
    rows = [split(line, how.delimiter) for line in lines[how.first : how.first + _SAMPLED]]
    samples = [row for row in rows if len(row) == how.width]
    tail = [row for row in _tail(file, how) if len(row) == how.width]
    head, units = _with_cell_units(head, how, samples)
    clock = clock_of(how, head.columns, samples, tail, options, original.path)
    places, left_out = _channels(how, head.columns, samples, clock)
    channels = tuple(
        _channel(head.columns[k], number, options) for number, k in enumerate(places, start=1)
    )
    if not channels:
        raise refusal(
            original.path,
            say("no column of numbers beside the time"),
            allowed=say("one column of numbers at least"),
        )
    rate, rate_guess = _rate(clock, head, options, original)
    names = [each.name for each in head.columns]
    notes = Notes(original.path, names, how.decimal, how.delimiter)
    pages = TextPages(file, how, clock, tuple(places), notes, units)
    guesses = (*encoding_guess, *_guesses(how, head, options), *clock.guesses)
    made = survey(
        original, kind, pages, channels, TimeWatch(original.path, clock.grain), options,
        timed=clock.column is not None, guesses=(*guesses, *rate_guess, *left_out), rate=rate,
        began=clock.began,
    )  # fmt: skip
    notes.refuse_too_many()
    return replace(made, troubles=(*made.troubles, *notes.troubles()))


def _written(file: TextFile, lines: list[str], options: Options) -> Written:
    """How the table is written, the decimal sign looked up further down where it does not show."""
    asked = {name: getattr(options, name) for name in ("delimiter", "decimal", "thousands")}
    how = written(lines, **asked, header=options.header)
    if how is None:
        shown = next((line for line in lines if line.strip()), "")
        raise refusal(
            file.original.path,
            say("no row of numbers was found"),
            where="text",
            value=shown,
            allowed=say("rows of numbers, parted by comma, semicolon, tab, blank or bar"),
            hint=say("If there are some, say how they are written: delimiter=, decimal=, header=."),
        )
    if how.signed or options.decimal is not None:
        return how
    other = "," if how.decimal == "." else "."
    if other == how.delimiter:
        return how
    reader = CellReader(other, None)
    for line in _spots(file):
        for cell in split(line, how.delimiter):
            if other in cell and reader.is_plain(cell):
                return replace(how, decimal=other, signed=True)
    return how


def _spots(file: TextFile) -> list[str]:
    """Lines from places all through the file; the first and last of each may be cut off."""
    found: list[str] = []
    size = file.original.size - file.begin
    for k in range(1, _SPOTS):
        place = file.begin + (size * k // _SPOTS) // 4 * 4
        found += _lines_at(file, place)[1:-1]
    return found


def _tail(file: TextFile, how: Written) -> list[list[str]]:
    place = max(file.begin, file.original.size - _SPOT)
    place -= (place - file.begin) % 4
    lines = _lines_at(file, place)[0 if place == file.begin else 1 :]
    return [split(line, how.delimiter) for line in lines if line.strip()]


def _lines_at(file: TextFile, place: int) -> list[str]:
    with file.original.open() as opened:
        opened.seek(place)
        data = opened.read(_SPOT)
    return data.decode(file.encoding, "replace").splitlines()


def _channels(
    how: Written, columns: Sequence[Named], samples: Sequence[Sequence[str]], clock: Clock
) -> tuple[list[int], list[Guess]]:
    """Columns of numbers that are not the time; and what was left out."""
    reader = CellReader(how.decimal, how.thousands)
    places, guesses = [], []
    for k, (kind, column) in enumerate(zip(how.kinds, columns, strict=True)):
        if k in clock.columns or (kind == "m" and not column.name):
            continue  # a column without a name and without a number is only a spare delimiter
        if kind not in "nm":
            because = say("it holds words") if kind == "t" else say("it holds dates or times")
            guesses.append(Guess("left out", column.name or f"column {k + 1}", because, "time"))
            continue
        values = [reader.read(row[k]).value for row in samples]
        if k == 0 and how.width > 1 and counts_rows(column, values):
            guesses.append(
                Guess("left out", column.name or "column 1", say("it numbers the rows"), "time")
            )
            continue
        places.append(k)
    return places, guesses


def _with_cell_units(
    head: Head, how: Written, samples: Sequence[Sequence[str]]
) -> tuple[Head, dict[int, str]]:
    """The head with the units that cells carry ("12.5 V"), and which columns have them.

    A unit in the heading counts; the cells are then brought into it.
    """
    reader = CellReader(how.decimal, how.thousands)
    columns, units = list(head.columns), {}
    for k, column in enumerate(columns):
        seen = next((unit for row in samples if (unit := reader.parted(row[k])[1])), "")
        if not seen:
            continue
        wanted = column.unit if unit_factor(seen, column.unit) is not None else seen
        columns[k], units[k] = Named(column.name, wanted), wanted
    return replace(head, columns=tuple(columns)), units


def _channel(column: Named, number: int, options: Options) -> Channel:
    """A channel; one without a name goes by its number, and its unit is said by that."""
    name = column.name or f"channel {number}"
    return Channel(name, options.units.get(name, column.unit))


def _rate(
    clock: Clock, head: Head, options: Options, original: Original
) -> tuple[float | None, tuple[Guess, ...]]:
    """The rate that the head says; it is needed where no column is the time."""
    if clock.column is not None or options.rate is not None:
        return head.rate, ()
    if head.rate is None:
        names = ", ".join(
            f"{k} {each.name!r}" for k, each in enumerate(head.columns, start=1) if each.name
        )
        hint = say(
            "Say rate=1000 (samples a second; rate=1 counts rows), or name the time column:"
            " time=NAME."
        )
        if names:
            hint = say(
                "Say rate=1000 (samples a second; rate=1 counts rows), or name the time column:"
                " time=NAME, one of {names}.",
                names=names,
            )
        raise refusal(
            original.path,
            say("no column is the time, and no line says the rate"),
            where="time",
            allowed=say("a column of rising times, or the rate"),
            hint=hint,
        )
    because = say("line {line} says so, and no column is the time", line=head.rate_line)
    return head.rate, (Guess("rate", f"{head.rate:g}", because, "rate"),)


def _guesses(how: Written, head: Head, options: Options) -> list[Guess]:
    made = []
    if options.delimiter is None and how.width > 1:
        word = word_for(how.delimiter, DELIMITERS)
        because = say("it parts most rows into {width} cells that can be read", width=how.width)
        made.append(Guess("delimiter", word, because, "delimiter"))
    if options.decimal is None:
        word = word_for(how.decimal, DECIMALS)
        because = say("numbers have it") if how.signed else say("no number shows a decimal sign")
        made.append(Guess("decimal sign", word, because, "decimal"))
    if options.thousands is None and how.thousands:
        word = word_for(how.thousands, THOUSANDS)
        because = say("some number has it beside the decimal sign, or twice")
        made.append(Guess("thousands sign", word, because, "thousands"))
    if options.header is None:
        because = say("the first row of numbers stands below them")
        if head.names_line is not None:
            because = say(
                "the first row of numbers stands below them; the names are those of line {line}",
                line=head.names_line + 1,
            )
        made.append(Guess("header", str(how.first), because, "header"))
    return made
