"""What a quiet run says, in sentences; and what its picture needs to know."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from tripmargin.ground.languages import say
from tripmargin.ground.units import percent
from tripmargin.pictures.data import Array, SpreadLike
from tripmargin.pictures.words import plain_number

_HARDLY = 1e-5  # an hour: rarer than that is told as such


class OrderLike(Protocol):
    """One harmonic: its number, its amplitude, V, and whether it stands out of the noise."""

    @property
    def number(self) -> int:
        """Times a turn."""
        ...

    @property
    def amplitude(self) -> SpreadLike:
        """V, with its 95 % interval."""
        ...

    @property
    def phase(self) -> SpreadLike:
        """Radians, with its 95 % interval."""
        ...

    @property
    def sure(self) -> bool:
        """Whether it stands out."""
        ...


class NoiseLike(Protocol):
    """What the picture needs of a quiet run's noise."""

    @property
    def machine(self) -> str:
        """Name of the machine."""
        ...

    @property
    def duration(self) -> float:
        """Used, s."""
        ...

    @property
    def floor(self) -> SpreadLike:
        """What does not turn with the roll, V rms."""
        ...

    @property
    def share(self) -> SpreadLike | None:
        """Of the power, what turns with the roll."""
        ...

    @property
    def turns(self) -> int:
        """Whole turns averaged."""
        ...

    @property
    def orders(self) -> Sequence[OrderLike]:
        """From 1 on."""
        ...

    @property
    def angles(self) -> Array:
        """Turns, over one."""
        ...

    @property
    def trace(self) -> Array:
        """V at the angles."""
        ...

    @property
    def threshold(self) -> float | None:
        """V."""
        ...

    @property
    def false_trips_per_hour(self) -> SpreadLike | None:
        """Now, 1/h."""
        ...

    @property
    def cured_per_hour(self) -> SpreadLike | None:
        """With a sound roll, 1/h."""
        ...


def noise_answers(noise: NoiseLike) -> list[str]:
    """Floor, share and false trips."""
    middle, low, high = (
        plain_number(end * 1e3) for end in (noise.floor.nominal, noise.floor.low, noise.floor.high)
    )
    first = say("Floor: {middle} mV ({low} to {high}) rms.", middle=middle, low=low, high=high)
    if noise.share is not None:
        turning = say(
            "What turns with the roll has {share} of the noise's power ({low} to {high}).",
            share=percent(noise.share.nominal),
            low=percent(noise.share.low),
            high=percent(noise.share.high),
        )
        first = f"{first} {turning}"
    now, cured = noise.false_trips_per_hour, noise.cured_per_hour
    if now is None or cured is None:
        return [first]
    if any(order.sure for order in noise.orders):
        trips = say(
            "False trips by noise: {now}; with the roll cured, {cured}.",
            now=rate_words(now),
            cured=rate_words(cured),
        )
        return [first, trips]
    return [first, say("False trips by noise: {now}.", now=rate_words(now))]


def rate_words(rate: SpreadLike) -> str:
    """A rate of trips, 1/h, with its ends.

    >>> from tripmargin.ground.results import Spread
    >>> rate_words(Spread(1.2, low=0.8, high=1.7)), rate_words(Spread(0.02, low=0.01, high=0.04))
    ('1.2 an hour (0.8 to 1.7)', 'one in 50 h (25 h to 100 h)')
    >>> rate_words(Spread(1e-9, low=1e-12, high=1e-6))
    'less than one in 100000 h'
    """
    if rate.high <= _HARDLY:
        return say("less than one in 100000 h")
    if rate.nominal >= 1:
        return say(
            "{rate} an hour ({low} to {high})",
            rate=plain_number(rate.nominal, 2),
            low=plain_number(rate.low, 2),
            high=plain_number(rate.high, 2),
        )
    return say(
        "one in {usual} ({least} to {most})",
        usual=_hours(rate.nominal),
        least=_hours(rate.high),
        most=_hours(rate.low),
    )


def _hours(per_hour: float) -> str:
    if per_hour <= _HARDLY:
        return say("over 100000 h")
    return say("{hours} h", hours=plain_number(float(f"{1 / per_hour:.2g}"), 6))
