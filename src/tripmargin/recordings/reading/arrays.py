"""A recording of numbers that are in memory already: for simulations, pages and tests."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.noticing import FlatWatch
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.reading.time_watch import TimeWatch
from tripmargin.recordings.recording import BLOCK, Block, Channel, Recording

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ArraySource:
    """Blocks of arrays."""

    times: Floats
    values: Floats

    def blocks(self, columns: tuple[int, ...], start: float, stop: float) -> Iterator[Block]:
        """Blocks between two times."""
        begin = int(np.searchsorted(self.times, start))
        end = int(np.searchsorted(self.times, stop, "right"))
        for k in range(begin, end, BLOCK):
            some = slice(k, min(k + BLOCK, end))
            yield Block(self.times[some], self.values[some][:, list(columns)])


def recording_of_arrays(
    values: ArrayLike,
    *,
    rate: float | None = None,
    times: ArrayLike | None = None,
    names: Sequence[str] | None = None,
    units: Sequence[str] | None = None,
    name: str = "in memory",
    kind: str = "arrays",
) -> Recording:
    """A recording of arrays.

    Parameters
    ----------
    values : array_like, (n,) or (n, k)
        One column for each channel.
    rate : float, Hz, optional
    times : array_like, (n,), s, optional
        One of the two is needed; times rise.
    names, units : sequence of str, optional
        One for each channel.
    name, kind : str
        What stands for the file's name and its kind.

    Returns
    -------
    Recording
        Its hash is that of the numbers.

    Raises
    ------
    RecordingError
        Where there is no sample, neither a rate nor times, or times do not rise.

    Examples
    --------
    >>> made = recording_of_arrays([0.0, 1.0, 0.5], rate=1000.0, names=["trip"], units=["V"])
    >>> made.duration, made.channels
    (0.002, (Channel(name='trip', unit='V'),))
    """
    path = Path(name)
    table = np.array(values, dtype=np.float64)
    table = table[:, None] if table.ndim == 1 else table
    if table.ndim != 2 or not table.size:
        raise refusal(
            path,
            say("values of shape {shape}", shape=table.shape),
            allowed=say("(n,) or (n, k), n above 0"),
        )
    count = table.shape[1]
    names = names or [f"channel {k}" for k in range(1, count + 1)]
    units = units or [""] * count
    if len(names) != count or len(units) != count:
        raise refusal(
            path,
            say(
                "{names} names and {units} units for {count} channels",
                names=len(names),
                units=len(units),
                count=count,
            ),
            allowed=say("one for each channel"),
        )
    channels = tuple(map(Channel, names, units))
    watch = TimeWatch(path)
    if times is not None:
        stamps = np.array(times, dtype=np.float64)
        if stamps.shape != (len(table),) or not (np.diff(stamps) > 0).all():
            raise refusal(
                path, say("times do not rise, or are not one a row"), allowed=say("rising times")
            )
        watch.add(stamps, None)
        verdict = watch.verdict()
        own, troubles, stamps = verdict.rate, verdict.troubles, stamps - stamps[0]
    elif rate is not None and rate > 0:
        own, troubles, stamps = float(rate), (), np.arange(len(table)) / rate
    else:
        raise refusal(
            path, say("neither a rate nor times"), allowed=say("rate= above 0, or times=")
        )
    flat = FlatWatch(channels)
    flat.add(table)
    hashed = hashlib.sha256(np.column_stack([stamps, table]).tobytes())
    return Recording(
        path, hashed.hexdigest(), table.nbytes, kind, channels, own, len(table),
        float(stamps[-1]), ArraySource(stamps, table),
        troubles=(*troubles, *flat.troubles(lambda row: float(stamps[row]))),
    )  # fmt: skip
