"""What may be said about a recording of a stop, and what is taken where nothing is said."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from math import isfinite, sqrt
from numbers import Integral, Real
from typing import Any, TypeVar

from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine
from tripmargin.recordings.recording import RecordingError

Range = tuple[float, float]
SPEED_OF_SOUND_AT_0 = 331.3
"""m/s, dry air at 0 degC."""


@dataclass(frozen=True, slots=True)
class SoundOptions:
    """For a stop that was heard.

    Attributes
    ----------
    channels
        Names or numbers from 1; None for all.
    rate
        Samples a second, Hz, where the file's own is wrong.
    known_tone
        A tone that is known to sound, Hz (mains hum, an engine at a known speed): the file's rate
        is checked against it.
    which
        Number of the stop, from 1 in the order of time; None for the clearest.
    click_delay
        s from the button's click to the threshold's crossing: a number, or least and greatest.
    distance_difference
        m by which the rolls are farther from the microphone than the button: a number, or least
        and greatest.
    temperature
        Of the air, degC.
    machine, cut_length
        The machine's own stop chain at a cut length, m, as what is likely beforehand.
    """

    channels: tuple[str | int, ...] | None = None
    rate: float | None = None
    known_tone: float | None = None
    which: int | None = None
    click_delay: float | Range = 0.0
    distance_difference: float | Range = (-0.25, 0.25)
    temperature: float = 20.0
    machine: Machine | None = None
    cut_length: float | None = None

    def __post_init__(self) -> None:
        if isinstance(self.channels, (str, int)):
            object.__setattr__(self, "channels", (self.channels,))
        if self.channels is not None and not self.channels:
            raise RecordingError(
                say("channels names none. Allowed: at least one, or leave it out.")
            )
        if self.rate is not None:
            within("rate", self.rate, 4000.0, 1e6, "Hz")
        if self.known_tone is not None:
            within("known_tone", self.known_tone, 10.0, 2000.0, "Hz")
        within("temperature", self.temperature, -40.0, 60.0, "degC")
        for end in ends(self.click_delay, "click_delay"):
            within("click_delay", end, -0.5, 0.5, "s")
        for end in ends(self.distance_difference, "distance_difference"):
            within("distance_difference", end, -100.0, 100.0, "m")
        _counted(self.which)
        if self.machine is not None and self.cut_length is None:
            raise RecordingError(
                say("The machine's own stop time goes with its cut length: give that too, in m.")
            )

    @property
    def slowness(self) -> float:
        """S a metre of the sound's way; 2.914 ms at 20 degC."""
        return 1 / (SPEED_OF_SOUND_AT_0 * sqrt(1 + self.temperature / 273.15))


@dataclass(frozen=True, slots=True)
class LoggerOptions:
    """For a stop that was logged.

    Attributes
    ----------
    trip, roll
        The two channels, by name or by number from 1; None: told apart by what they look like.
    roll_is
        "pulses" or "speed"; None: told by its look.
    which
        Number of the stop, from 1 in the order of time; None for the only one.
    trip_delay
        s from the threshold's crossing to the trip line's edge: a number, or least and greatest.
    """

    trip: str | int | None = None
    roll: str | int | None = None
    roll_is: str | None = None
    which: int | None = None
    trip_delay: float | Range = 0.0

    def __post_init__(self) -> None:
        if self.roll_is not in (None, "pulses", "speed"):
            raise RecordingError(
                say(
                    "roll_is = {roll_is!r}. Allowed: 'pulses' (one at a time, from a pickup)"
                    " or 'speed' (a voltage or number that rises with the speed).",
                    roll_is=self.roll_is,
                )
            )
        for end in ends(self.trip_delay, "trip_delay"):
            within("trip_delay", end, -0.5, 0.5, "s")
        _counted(self.which)


_NOT_TAKEN = {
    ("sound", False): later(
        "{key} is nothing that a stop time from a sound takes. It takes: {known}."
    ),
    ("sound", True): later(
        "{key} is nothing that a stop time from a sound takes. Did you mean {near}? It takes:"
        " {known}."
    ),
    ("logger", False): later(
        "{key} is nothing that a stop time from a logger takes. It takes: {known}."
    ),
    ("logger", True): later(
        "{key} is nothing that a stop time from a logger takes. Did you mean {near}? It takes:"
        " {known}."
    ),
}
Options = TypeVar("Options", SoundOptions, LoggerOptions)


def options_of(kind: type[Options], given: Mapping[str, Any], source: str) -> Options:
    """Options from keywords.

    Raises
    ------
    RecordingError
        If a keyword is not one of them, or a value cannot be.
    """
    known = [each.name for each in fields(kind)]
    for key in given:
        if key not in known:
            near = difflib.get_close_matches(key, known, 1)
            values = {"key": key, "known": ", ".join(known), "near": near[0] if near else ""}
            raise RecordingError(say(_NOT_TAKEN[source, bool(near)], **values))
    return kind(**given)


def ends(given: float | Range, name: str = "") -> Range:
    """Least and greatest."""
    if isinstance(given, Real):
        return float(given), float(given)
    try:
        low, high = map(float, given)  # type: ignore[arg-type]  # who knows what was given
    except (TypeError, ValueError):
        raise RecordingError(
            say(
                "{name} = {given!r}. Allowed: a number, or two: the least and the greatest.",
                name=name,
                given=given,
            )
        ) from None
    if low > high:
        raise RecordingError(
            say(
                "{name} = {low:g} to {high:g}: the first is the least, the second the greatest.",
                name=name,
                low=low,
                high=high,
            )
        )
    return low, high


def within(name: str, value: float, low: float, high: float, unit: str) -> None:
    """Refuse what cannot be."""
    number = isinstance(value, Real) and not isinstance(value, bool)
    if not (number and isfinite(value) and low <= value <= high):
        seen = f"{value:g}" if number else repr(value)
        raise RecordingError(
            say(
                "{name} = {seen} {unit}. Allowed: {low:g} to {high:g} {unit}.",
                name=name,
                seen=seen,
                unit=unit,
                low=low,
                high=high,
            )
        )


def _counted(which: int | None) -> None:
    """Refuse a number of a stop that cannot be, before an hour is searched for it."""
    if which is not None and (not isinstance(which, Integral) or which < 1):
        raise RecordingError(
            say("Stop number {which!r}. Allowed: whole numbers, counted from 1.", which=which)
        )
