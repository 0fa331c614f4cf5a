"""What a quiet run says, line by line: value, its limits, and where it came from."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10

from tripmargin.ground.languages import later, numeral, say, say_many
from tripmargin.ground.quantities import Quantity
from tripmargin.ground.results import Spread
from tripmargin.ground.units import percent, shown
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.pictures.noise_words import rate_words
from tripmargin.recordings import Noise
from tripmargin.web.machines.naming import called
from tripmargin.web.machines.turns import in_file

FLOOR = later("Noise floor, rms")
TURNING = later("What turns with the roll, rms")
LIMITS = later("{low} to {high}")


@dataclass(frozen=True, slots=True)
class NoiseRow:
    """One answer: what, its value, its 95 % limits in words, and where it came from."""

    what: str
    value: str
    limits: str
    source: str


def noise_rows(noise: Noise, version: int, *, us: bool) -> list[NoiseRow]:
    """The answers, the most asked for first."""
    rated = say(
        "Rice's formula, from the floor, what turns with the roll, and the threshold of version"
        " {version} of the file.",
        version=version,
    )
    made = [
        _rate(say("False trips by noise, now"), noise.false_trips_per_hour, noise, rated),
        _rate(
            say("False trips with the roll cured"), noise.cured_per_hour, noise,
            say("The same, without what turns with the roll."),
        ),
        _share(noise),
        _volts(say(FLOOR), noise.floor, _where(noise)),
    ]  # fmt: skip
    if noise.turn_rate is not None:
        made.append(
            _volts(say(TURNING), noise.synchronous,
                   say("Mean over {turns} turns of the roll, of the orders that stand out.",
                       turns=noise.turns))
        )  # fmt: skip
        low, middle, high = _turns(noise.turn_rate)
        how = next((one.because for one in noise.guesses if one.what == "turns of the roll"), "")
        source = say("From the pickup's pulses.")
        if how:
            source = say("Found in the noise itself: {how}.", how=how)
        if low != high:
            ends = say("{low} to {high} during the run", low=low, high=high)
        else:
            ends, source = "", f"{source} {say('It turned evenly during the run.')}"
        made.append(NoiseRow(say("Turns of the roll a second"), middle, ends, source))
    if noise.threshold is not None:
        source = say("From version {version} of the machine's file.", version=version)
        passed = say("The record itself never passed it.")
        if noise.crossings_seen:
            passed = say_many(
                "The record itself passed it once.",
                "The record itself passed it {count} times.",
                noise.crossings_seen,
            )
        value = shown(noise.threshold, "voltage")
        made.append(NoiseRow(say("Threshold"), value, "", f"{source} {passed}"))
    return made


def _turns(rate: Spread) -> tuple[str, str, str]:
    """Least, middle and most, to where they differ, at most to the thousandth of a turn."""
    wide = max(rate.high - rate.low, 1e-6)
    behind = min(max(1 - floor(log10(wide)), 0), 3)
    low, middle, high = (numeral(one, f".{behind}f") for one in (rate.low, float(rate), rate.high))
    return low, middle, high


def _where(noise: Noise) -> str:
    told = {"channel": noise.channel, "time": noise.duration}
    if noise.at == "output":
        return say(
            "Channel “{channel}”, {time:.3g} s without bursts; at the amplifier's output.", **told
        )
    return say(
        "Channel “{channel}”, {time:.3g} s without bursts, what the coil gave put through the"
        " file's filter; at the amplifier's output.",
        **told,
    )


def _rate(what: str, rate: Spread | None, noise: Noise, source: str) -> NoiseRow:
    if rate is None:
        why = [one.words for one in noise.troubles if one.what in ("threshold", "spectrum")]
        return NoiseRow(what, say("not known"), "", " ".join(why) or say("See what was noticed."))
    value, _, ends = rate_words(rate).partition(" (")
    return NoiseRow(what, value, ends.rstrip(")"), source)


def _share(noise: Noise) -> NoiseRow:
    what = say("Share of a magnetised or bent roll")
    if noise.share is None:
        why = [one.words for one in noise.troubles if one.what in ("turns", "short")]
        return NoiseRow(what, say("not known"), "", " ".join(why))
    limits = say(LIMITS, low=percent(noise.share.low), high=percent(noise.share.high))
    return NoiseRow(
        what, percent(float(noise.share)), limits,
        say("Of the noise's power, what comes again at each turn of the roll."),
    )  # fmt: skip


def _volts(what: str, value: Spread, source: str) -> NoiseRow:
    low, middle, high = (
        f"{numeral(1e3 * float(one), '.3g')} mV" for one in (value.low, value, value.high)
    )
    return NoiseRow(what, middle, say(LIMITS, low=low, high=high), source)


def file_rows(noise: Noise, machine: LoadedMachine, *, us: bool) -> list[tuple[str, str, str, str]]:
    """Name, path, value now and as measured, of the fields that a run says."""
    made = []
    for path, text in noise.fields.items():
        now = machine.get(path)
        words = in_file(now, us=us) if isinstance(now, Quantity) else say("not given")
        made.append((called(path), path, words, text))
    return made
