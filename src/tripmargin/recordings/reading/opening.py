"""Open any recording: which kind it is, what had to be guessed, what is wrong with it."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import replace

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.kinds import PHONE, SOUND, kind_of
from tripmargin.recordings.reading.naming import names_time
from tripmargin.recordings.reading.options import Options
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.recording import Recording, Trouble

_HEAD = 4096


def read(
    path: str | os.PathLike[str],
    *,
    kind: str | None = None,
    delimiter: str | None = None,
    decimal: str | None = None,
    thousands: str | None = None,
    encoding: str | None = None,
    header: int | None = None,
    time: str | int | None = None,
    rate: float | None = None,
    units: Mapping[str, str] | None = None,
    group: int | None = None,
) -> Recording:
    r"""A recording from a file, gone through once and not kept in memory.

    Parameters
    ----------
    path : path
        The file; it is never written to.
    kind : str, optional
        "CSV", "WAV", "FLAC", "Parquet", "MDF4" and so on, against what its first bytes say.
    delimiter : str, optional
        CSV: "comma", "semicolon", "tab", "space", "bar", or the sign itself.
    decimal, thousands : str, optional
        CSV: "point" or "comma"; "comma", "point", "space", "apostrophe" or "none".
    encoding : str, optional
        CSV: "utf-8", "utf-16", "latin-1", "cp1252" and the like.
    header : int, optional
        CSV: lines above the first row of numbers.
    time : str or int, optional
        The time's column, by name or by number from 1; "none" where no column is the time.
    rate : float, Hz, optional
        Samples a second; it counts before what the file says.
    units : mapping, optional
        Units of channels by their names ("channel 1" and so on where the file has none), and of
        the time's column.
    group : int, optional
        MDF: channel group, from 1.

    Returns
    -------
    Recording
        With what was guessed in `guesses` and what was noticed in `troubles`.

    Raises
    ------
    RecordingError
        Where the file cannot be read, or an option is wrong or says nothing about such a file.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> folder = tempfile.TemporaryDirectory()
    >>> file = pathlib.Path(folder.name) / "trip.csv"
    >>> _ = file.write_text("Zeit [ms];Trip [V]\n0,0;12,1\n0,5;12,0\n1,0;0,3\n")
    >>> recording = read(file)
    >>> recording.channels, recording.rate
    ((Channel(name='Trip', unit='V'),), 2000.0)
    >>> recording.read().values[:, 0]
    array([12.1, 12. , 0.3])
    >>> folder.cleanup()
    """
    original = Original.of(path)
    options = Options(
        kind, delimiter, decimal, thousands, encoding, header, time, rate, dict(units or {}), group
    ).checked(original.path)
    with original.open() as file:
        head = file.read(_HEAD)
    found, guesses = kind_of(original.path, head, kind)
    made = _reader(found)(original, options, found)
    unused = _unused_units(options, made)
    return replace(made, guesses=(*guesses, *made.guesses), troubles=(*made.troubles, *unused))


def _unused_units(options: Options, made: Recording) -> tuple[Trouble, ...]:
    """Units said for what no column is called: they change nothing, and that is told."""
    asked = str(options.time or "")
    if asked.isdecimal():  # the time's column by its number: it may be called anything
        return ()
    times = [one.value for one in made.guesses if one.what == "time"]
    known = {"", asked, *times, *(each.name for each in made.channels)}
    listed = ", ".join(f"{k} {each.name!r}" for k, each in enumerate(made.channels, start=1))
    return tuple(
        Trouble(
            "units",
            say(
                "No column is called {name!r}: the unit said for it changes nothing. The"
                " channels are {listed}.",
                name=name,
                listed=listed,
            ),
        )
        for name in options.units
        if name not in known and not names_time(name)
    )


def _reader(kind: str) -> Callable[[Original, Options, str], Recording]:
    """The reader of a kind, loaded when it is needed."""
    if kind == "CSV":
        from tripmargin.recordings.reading.text import read_text

        return read_text
    if kind in SOUND:
        from tripmargin.recordings.reading.sound import read_sound

        return read_sound
    if kind in PHONE:
        from tripmargin.recordings.reading.phone_sound import read_phone_sound

        return read_phone_sound
    if kind == "Parquet":
        from tripmargin.recordings.reading.parquet import read_parquet

        return read_parquet
    from tripmargin.recordings.reading.mdf import read_mdf

    return read_mdf
