"""The time of an MDF channel group that has no master channel: beside it, or in another group."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.naming import Named
from tripmargin.recordings.reading.time_column import looks_like_time, numeric_time
from tripmargin.recordings.recording import Channel, Guess

Floats = NDArray[np.float64]
_SAMPLED = 200


@dataclass(frozen=True)
class Clock:
    """Where a group's times stand: group from 1, channel by its index, seconds in its unit."""

    group: int
    index: int
    factor: float = 1.0


class Group(Protocol):
    """What is known of a group: see `mdf.MdfGroup`."""

    @property
    def number(self) -> int: ...  # noqa: D102
    @property
    def records(self) -> int: ...  # noqa: D102
    @property
    def clock(self) -> Clock | None: ...  # noqa: D102
    @property
    def indices(self) -> tuple[int, ...]: ...  # noqa: D102
    @property
    def channels(self) -> tuple[Channel, ...]: ...  # noqa: D102


def clock_elsewhere(
    group: Group,
    groups: Sequence[Group],
    first_of: Callable[[int, int, int], Floats],
    units: Mapping[str, str],
) -> tuple[Clock | None, list[Guess]]:
    """A clock for a group without one: its own channel of times, or the only one of like groups.

    Parameters
    ----------
    group, groups
        The group, and all of the file.
    first_of
        First numbers of a channel: group from 1, index, how many.
    units
        As a user says them.

    Returns
    -------
    clock, guesses
        None where there is no such channel, or more than one group could be meant.
    """

    def found(one: Group) -> tuple[Clock | None, list[Guess]]:
        for index, channel in zip(one.indices, one.channels, strict=True):
            values = first_of(one.number, index, _SAMPLED).tolist()
            column = Named(channel.name, channel.unit)
            why = looks_like_time(column, values, first=False)
            if why and len(values) == min(_SAMPLED, one.records):
                number, guess = numeric_time(column, values, units.get(channel.name))
                name = channel.name
                if one is not group:
                    name = say("{channel} of group {number}", channel=name, number=one.number)
                made = [Guess("time", name, why, "group")]
                return Clock(one.number, index, number.factor), made + ([guess] if guess else [])
        return None, []

    own, guesses = found(group)
    if own is not None:
        return own, guesses
    candidates: list[tuple[Clock, list[Guess]]] = []
    for one in groups:
        if one.number == group.number or one.records != group.records:
            continue
        because = say(
            "it has as many records ({records}), and no other group of times has",
            records=one.records,
        )
        if one.clock is not None:
            guess = Guess(
                "time", say("that of group {number}", number=one.number), because, "group"
            )
            candidates.append((one.clock, [guess]))
        else:
            clock, guesses = found(one)
            if clock is not None:
                guesses[0] = replace(guesses[0], because=f"{guesses[0].because}; {because}")
                candidates.append((clock, guesses))
    return candidates[0] if len(candidates) == 1 else (None, [])
