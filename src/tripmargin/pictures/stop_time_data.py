"""What a stop time's picture needs to be given, and the table behind it; all SI."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from tripmargin.ground.languages import later, say
from tripmargin.pictures.data import Array
from tripmargin.pictures.page import Cell, Table
from tripmargin.pictures.trade_words import instant_words
from tripmargin.pictures.words import said


class InstantLike(Protocol):
    """Something that happened: when, within what, s, and how it was found."""

    @property
    def name(self) -> str:
        """What happened."""

    @property
    def time(self) -> float:
        """When, s from the recording's beginning."""

    @property
    def low(self) -> float:
        """Lower end of the interval that holds 95 %, s."""

    @property
    def high(self) -> float:
        """Upper end of it, s."""

    @property
    def how(self) -> str:
        """How it was found."""

    @property
    def by_hand(self) -> bool:
        """Whether a person placed it."""


class TraceLike(Protocol):
    """A line over time."""

    @property
    def what(self) -> str:
        """What is drawn."""

    @property
    def times(self) -> Array:
        """(t,) s."""

    @property
    def values(self) -> Array:
        """(t,) in the unit that `what` names."""


class TroubleLike(Protocol):
    """Something noticed, in words."""

    @property
    def words(self) -> str:
        """A whole sentence."""


class StopTimeLike(Protocol):
    """What a stop time's picture needs."""

    @property
    def value(self) -> float:
        """The stop time, s."""

    @property
    def low(self) -> float:
        """Lower end of the interval that holds 95 %, s."""

    @property
    def high(self) -> float:
        """Upper end of it, s."""

    @property
    def instants(self) -> Sequence[InstantLike]:
        """In the order of time."""

    @property
    def start(self) -> str:
        """Name of the instant at which the stop begins."""

    @property
    def end(self) -> str:
        """Name of the instant at which it ends."""

    @property
    def source(self) -> str:
        """What it is from: sound, logger or video frames."""

    @property
    def file(self) -> str:
        """The recording's name."""

    @property
    def traces(self) -> Sequence[TraceLike]:
        """The signals."""

    @property
    def clear(self) -> bool:
        """Whether there is a stop at all."""

    @property
    def troubles(self) -> Sequence[TroubleLike]:
        """What was noticed."""

    @property
    def assumed(self) -> Sequence[str]:
        """Whole sentences."""


def stop_time_table(found: StopTimeLike) -> Table:
    """One row for each instant, then the stop time."""
    headers = (later("what"), later("time_s"), later("low_s"), later("high_s"), later("how"))
    rows: list[list[Cell]] = [
        [
            instant_words(each.name),
            round(each.time, 6),
            round(each.low, 6),
            round(each.high, 6),
            said(each.how),
        ]
        for each in found.instants
    ]
    how = say(
        "from {start} to {end}", start=instant_words(found.start), end=instant_words(found.end)
    )
    rows.append(
        [say("stop time"), round(found.value, 6), round(found.low, 6), round(found.high, 6), how]
    )
    return headers, rows
