"""What a quiet run says, line by line: value, its limits, and where it came from."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10

from tripmargin.ground.quantities import Quantity
from tripmargin.ground.results import Spread
from tripmargin.ground.units import percent, shown
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.pictures.noise_words import rate_words
from tripmargin.recordings import Noise
from tripmargin.web.machines.naming import called
from tripmargin.web.machines.turns import in_file


@dataclass(frozen=True, slots=True)
class NoiseRow:
    """One answer: what, its value, its 95 % limits in words, and where it came from."""

    what: str
    value: str
    limits: str
    source: str


def noise_rows(noise: Noise, version: int, *, us: bool) -> list[NoiseRow]:
    """The answers, the most asked for first."""
    rated = (
        f"Rice's formula, from the floor, what turns with the roll, and the threshold of version"
        f" {version} of the file."
    )
    made = [
        _rate("False trips by noise, now", noise.false_trips_per_hour, noise, rated),
        _rate(
            "False trips with the roll cured", noise.cured_per_hour, noise,
            "The same, without what turns with the roll.",
        ),
        _share(noise),
        _volts("Noise floor, rms", noise.floor, _where(noise)),
    ]  # fmt: skip
    if noise.turn_rate is not None:
        made.append(
            _volts("What turns with the roll, rms", noise.synchronous,
                   f"Mean over {noise.turns} turns of the roll, of the orders that stand out.")
        )  # fmt: skip
        low, middle, high = _turns(noise.turn_rate)
        how = next((one.because for one in noise.guesses if one.what == "turns of the roll"), "")
        source = f"Found in the noise itself: {how}." if how else "From the pickup's pulses."
        ends = f"{low} to {high} during the run" if low != high else ""
        even = "" if ends else " It turned evenly during the run."
        made.append(NoiseRow("Turns of the roll a second", middle, ends, f"{source}{even}"))
    if noise.threshold is not None:
        count = noise.crossings_seen
        times = "once" if count == 1 else f"{count} times"
        passed = f"passed it {times}" if count else "never passed it"
        made.append(
            NoiseRow("Threshold", shown(noise.threshold, "voltage"), "",
                     f"From version {version} of the machine's file. The record itself"
                     f" {passed}.")
        )  # fmt: skip
    return made


def _turns(rate: Spread) -> tuple[str, str, str]:
    """Least, middle and most, to where they differ, at most to the thousandth of a turn."""
    wide = max(rate.high - rate.low, 1e-6)
    behind = min(max(1 - floor(log10(wide)), 0), 3)
    return (
        f"{rate.low:.{behind}f}", f"{float(rate):.{behind}f}", f"{rate.high:.{behind}f}"
    )  # fmt: skip


def _where(noise: Noise) -> str:
    put = "" if noise.at == "output" else ", what the coil gave put through the file's filter"
    return (
        f"Channel “{noise.channel}”, {noise.duration:.3g} s without bursts{put}; at the"
        " amplifier's output."
    )


def _rate(what: str, rate: Spread | None, noise: Noise, source: str) -> NoiseRow:
    if rate is None:
        why = [one.words for one in noise.troubles if one.what in ("threshold", "spectrum")]
        return NoiseRow(what, "not known", "", " ".join(why) or "See what was noticed.")
    value, _, ends = rate_words(rate).partition(" (")
    return NoiseRow(what, value, ends.rstrip(")"), source)


def _share(noise: Noise) -> NoiseRow:
    what = "Share of a magnetised or bent roll"
    if noise.share is None:
        why = [one.words for one in noise.troubles if one.what in ("turns", "short")]
        return NoiseRow(what, "not known", "", " ".join(why))
    limits = f"{percent(noise.share.low)} to {percent(noise.share.high)}"
    return NoiseRow(
        what, percent(float(noise.share)), limits,
        "Of the noise's power, what comes again at each turn of the roll.",
    )  # fmt: skip


def _volts(what: str, value: Spread, source: str) -> NoiseRow:
    low, middle, high = (f"{1e3 * float(one):.3g} mV" for one in (value.low, value, value.high))
    return NoiseRow(what, middle, f"{low} to {high}", source)


def file_rows(noise: Noise, machine: LoadedMachine, *, us: bool) -> list[tuple[str, str, str, str]]:
    """Name, path, value now and as measured, of the fields that a run says."""
    made = []
    for path, text in noise.fields.items():
        now = machine.get(path)
        words = in_file(now, us=us) if isinstance(now, Quantity) else "not given"
        made.append((called(path), path, words, text))
    return made
