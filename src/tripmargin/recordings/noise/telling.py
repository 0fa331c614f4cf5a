"""What a user must know beside the numbers: bursts, too short, no finite rate, no threshold."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say, say_many
from tripmargin.ground.results import Spread
from tripmargin.machine import Machine
from tripmargin.recordings.noise.orders import FEWEST, Synchronous
from tripmargin.recordings.noise.result import Event
from tripmargin.recordings.noise.spectrum import Spectrum
from tripmargin.recordings.recording import Trouble
from tripmargin.sensing import Filter

Floats = NDArray[np.float64]
_WIDE = 0.05  # of the floor: half its interval, from which a run is called short
_TURNS = 30  # from which an order's interval is narrow enough
_OVERSAMPLED = 10.0  # times the high corner, from which the spectrum's end is seen
_LINES = 8  # of a spectrum below the high corner, from which its fall is seen
_TAILS = 4.0  # standard deviations by which the fourth moment may be off


def crossing_rate_of(
    machine: Machine, spectrum: Spectrum, rate: float
) -> tuple[float | None, list[Trouble]]:
    """Up-crossings of zero a second of the floor, by the record or else by the filter."""
    high = machine.get("detector.high_cut")
    if high is not None and rate < 2 * high.nominal:
        words = say(
            "{rate:g} samples a second are less than twice the detector's band of"
            " {band:g} Hz: what lies above is folded into the record. No rate of"
            " false trips can be told; record with {needed:.4g} Hz or more.",
            rate=rate,
            band=high.nominal,
            needed=_OVERSAMPLED * high.nominal,
        )
        return None, [Trouble("rate", words)]
    if high is not None and rate < _OVERSAMPLED * high.nominal:
        own = Filter(1.0, _nominal(machine, "detector.low_cut"), high.nominal)
        words = say(
            "At {rate:g} samples a second the end of the detector's band ({band:g}"
            " Hz) is not seen well: how often the noise crosses zero was taken from the"
            " machine's filter, white noise before it. Record with {needed:.4g} Hz"
            " or more.",
            rate=rate,
            band=high.nominal,
            needed=_OVERSAMPLED * high.nominal,
        )
        return own.noise_crossing_rate(), [Trouble("rate", words)]
    if high is not None and spectrum.step > high.nominal / _LINES:
        own = Filter(1.0, _nominal(machine, "detector.low_cut"), high.nominal)
        words = say(
            "The run is too short to show how the noise falls off with frequency: how"
            " often it crosses zero was taken from the machine's filter, white noise"
            " before it."
        )
        return own.noise_crossing_rate(), [Trouble("short", words)]
    found = spectrum.crossing_rate()
    if found is None:
        words = say(
            "The noise falls off too slowly with frequency, as behind a one-pole filter:"
            " it has no finite rate of crossings, and the rate of false trips would"
            " depend on the recorder alone. None is told. Is there a low-pass between"
            " the amplifier and its threshold?"
        )
        return None, [Trouble("spectrum", words)]
    return found, []


def _nominal(machine: Machine, path: str) -> float | None:
    found = machine.get(path)
    return None if found is None else float(found.nominal)


def used_troubles(
    seconds: float, parts: int, used: int, turning: bool, together: bool
) -> list[Trouble]:
    """How a long run was gone through, and what of it counts."""
    if parts == 1:
        return []
    values = {"seconds": seconds, "parts": parts, "used": used}
    if used == parts:
        words = say(
            "The run of {seconds:.4g} s was gone through in {parts} parts, and all of them count.",
            **values,
        )
    elif turning:
        words = say(
            "The run of {seconds:.4g} s was gone through in {parts} parts; {used} of them count."
            " The others are bursts throughout, or the roll's turning is not known in them.",
            **values,
        )
    else:
        words = say(
            "The run of {seconds:.4g} s was gone through in {parts} parts; {used} of them count."
            " The others are bursts throughout.",
            **values,
        )
    if together:
        laid = say("Each part's turning was laid on that of those before by what repeats.")
        words = f"{words} {laid}"
    return [Trouble("long", words)]


def burst_troubles(events: Sequence[Event], threshold: float | None) -> list[Trouble]:
    """Metal that passed, or a disturbance."""
    if not events:
        return []
    largest = max(events, key=lambda each: abs(each.peak))
    values = {"peak": abs(largest.peak), "at": largest.at}
    if threshold is None:
        words = say_many(
            "1 burst higher than steady noise reaches, the largest {peak:.3g} V at {at:.4g} s:"
            " metal that passed, or a disturbance (a relay, a radio). They were left out.",
            "{count} bursts higher than steady noise reaches, the largest {peak:.3g} V at"
            " {at:.4g} s: metal that passed, or a disturbance (a relay, a radio). They were left"
            " out.",
            len(events),
            **values,
        )
    else:
        over = sum(abs(each.peak) >= threshold for each in events)
        words = say_many(
            "1 burst higher than steady noise reaches, the largest {peak:.3g} V at {at:.4g} s:"
            " metal that passed, or a disturbance (a relay, a radio). They were left out; {over}"
            " of them pass the threshold of {threshold:g} V.",
            "{count} bursts higher than steady noise reaches, the largest {peak:.3g} V at"
            " {at:.4g} s: metal that passed, or a disturbance (a relay, a radio). They were left"
            " out; {over} of them pass the threshold of {threshold:g} V.",
            len(events),
            over=over,
            threshold=threshold,
            **values,
        )
    return [Trouble("metal", words, largest.at)]


def short_troubles(
    floor: Spread, count: float, seconds: float, synchronous: Synchronous | None,
    rate: tuple[float, float, float] | None,
) -> list[Trouble]:  # fmt: skip
    """A run that leaves more open than it need, and how long one would not."""
    made = []
    half = (floor.high - floor.low) / 2 / float(floor)
    if half > _WIDE:
        needed = seconds * (half / _WIDE) ** 2
        words = say(
            "The run is short: {seconds:.3g} s have {count:.0f} independent samples, and"
            " the floor is known to {half:.2g} %. For 5 % record {needed:g} s.",
            seconds=seconds,
            count=count,
            half=100 * half,
            needed=_round_up(needed),
        )
        made.append(Trouble("short", words))
    if rate is None:
        words = say(
            "Nothing that turns with the roll stands out, and no pickup or roll speed"
            " was given: what a magnetised or bent roll makes is not known. Say"
            " roll_speed= or roll_pickup=."
        )
        return [*made, Trouble("turns", words)]
    turns = synchronous.turns if synchronous else 0
    if turns < _TURNS:
        needed = (_TURNS + 2) / rate[0]
        values = {"turns": turns, "wanted": _TURNS, "needed": _round_up(needed)}
        if synchronous is None:
            words = say(
                "Only {turns} whole turns of the roll count; at least {fewest} are needed. For"
                " {wanted} of them record {needed:g} s without metal.",
                fewest=FEWEST,
                **values,
            )
        else:
            words = say(
                "Only {turns} whole turns of the roll count. For {wanted} of them record"
                " {needed:g} s without metal.",
                **values,
            )
        made.append(Trouble("short", words))
    return made


def _round_up(seconds: float) -> float:
    step = 10 ** np.floor(np.log10(max(seconds, 1.0)))
    return float(np.ceil(seconds / step) * step)


def tail_troubles(excess: float, count: float) -> list[Trouble]:
    """Noise whose heights are not spread as Rice's formula takes them to be.

    `excess` is the fourth moment over the square of the second, less 3.
    """
    if abs(excess) <= _TAILS * np.sqrt(24 / count) or abs(excess) < 0.1:
        return []
    if excess > 0:
        words = say(
            "The floor is not Gaussian: great heights come oftener (excess kurtosis {excess:.2g}),"
            " and false trips oftener than told here.",
            excess=excess,
        )
    else:
        words = say(
            "The floor is not Gaussian: great heights come more seldom (excess kurtosis"
            " {excess:.2g}), and false trips more seldom than told here.",
            excess=excess,
        )
    return [Trouble("tails", words)]


def threshold_troubles(threshold: float | None) -> list[Trouble]:
    """A machine whose file does not say the threshold."""
    if threshold is not None:
        return []
    words = say(
        "The machine's file gives no detector.threshold: no rate of false trips can be"
        " told. It comes from a type sheet, or from test pieces of known size."
    )
    return [Trouble("threshold", words)]
