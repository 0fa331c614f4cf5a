"""Synthetic recordings of a stop: physics-minded, and not the model that the estimator assumes.

A check button's click, what moves in the chain, the pawls' clacks as ringing steel, roll noise
(gear mesh, flutes, broadband) that follows the roll's speed through its deceleration, a few
echoes, all over a real machine's noise. Every draw varies timbre, loudness, timing and rate.

Signal to noise
---------------
Of the roll's noise: its power over the background's, both in the third-octave bands that hold
90 % of the roll's power and in the 200 ms before the catch. Of the click and of the last clack:
energy over that of everything else (roll and background), both in the third-octave bands that
hold 90 % of the knock's energy and in its first 5 ms; that ratio is `KNOCKS` above the roll's,
and the knock then 0.7 to 1.4 (click) or 0.5 to 1.5 (clack) times as loud.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, resample_poly, sosfilt

from tests.recordings.backgrounds import Background

Floats = NDArray[np.float64]
RATES = (16_000, 22_050, 32_000, 44_100, 48_000)
LASTS = 0.12
"""s that a click or a clack is followed."""
KNOCKS = 6.0
"""dB by which knocks stand above the rest of the sound: where they do not, nobody hears a stop."""


@dataclass(frozen=True)
class Stop:
    """A recording and what is true of it; instants in s from its beginning."""

    samples: Floats  # (n, channels)
    rate: int
    click: float
    catch: float
    rest: float
    background: str

    @property
    def stop_time(self) -> float:
        return self.rest - self.click


def stop(
    rng: np.random.Generator,
    backgrounds: tuple[Background, ...],
    *,
    snr: float,
    length: float = 1.6,
    rate: int | None = None,
) -> Stop:
    """One recording at a signal-to-noise ratio, dB, as the module defines it."""
    rate = rate or int(rng.choice(RATES))
    n = int(length * rate)
    rest_time = float(np.clip(rng.lognormal(np.log(0.013), 0.55), 0.003, 0.06))
    to_catch = float(np.clip(rng.lognormal(np.log(0.045), 0.35), 0.018, 0.15))
    click = float(rng.uniform(0.5, 0.7) * length - to_catch)
    catch, rest = click + to_catch, click + to_catch + rest_time
    times = np.arange(n) / rate
    source = backgrounds[int(rng.integers(len(backgrounds)))]
    noise = _background(rng, source, n, rate)
    room = _Room.drawn(rng, rate)
    roll = room(_roll(rng, times, rate, catch, rest))
    window = (times > catch - 0.2) & (times < catch)
    bands = _bands(roll[window], rate)
    roll *= _gain(roll[window], noise[window], rate, bands, snr)
    rest_of_it = roll + noise
    made = rest_of_it.copy()

    def add(kind: Callable[..., Floats], at: float, loudness: float) -> None:
        first = int(np.ceil(at * rate))
        last = min(first + int(LASTS * rate), n)
        burst = room(kind(rng, times[first:last] - at, rate))
        start = slice(0, int(0.005 * rate))
        around = rest_of_it[first:last][start]
        gain = _gain(burst[start], around, rate, _bands(burst[start], rate), snr + KNOCKS)
        made[first:last] += loudness * gain * burst

    add(_click, click, rng.uniform(0.7, 1.4))
    add(_clack, catch, rng.uniform(0.5, 1.5))
    for at, loudness in _others(rng, click, catch):
        add(_clack, at, loudness)
    if rng.random() < 0.3:  # the button let go again
        add(_click, click + rng.uniform(0.25, 0.5), 0.6)
    return Stop(_microphone(rng, made, rate), rate, click, catch, rest, source.name)


def _background(rng: np.random.Generator, source: Background, n: int, rate: int) -> Floats:
    """A piece of real machine noise at the recording's rate, its pitch a little changed."""
    given = _pitched(source, rate, float(rng.choice([0.86, 1.0, 1.17])))
    start = int(rng.integers(0, max(1, len(given) - n)))
    piece = given[start : start + n]
    piece = np.pad(piece, (0, n - len(piece)), mode="symmetric")  # no seam in level or phase
    return piece / np.sqrt(np.mean(piece**2)) + 1e-3 * rng.standard_normal(n)


@cache
def _pitched(source: Background, rate: int, pitch: float) -> Floats:
    ratio = Fraction(rate / (source.rate * pitch)).limit_denominator(60)
    return np.asarray(resample_poly(source.samples, ratio.numerator, ratio.denominator))


def _roll(rng: np.random.Generator, times: Floats, rate: int, catch: float, rest: float) -> Floats:
    """Gear mesh, flutes and broadband noise that follow the roll's speed."""
    left = np.clip((rest - times) / (rest - catch), 0.0, 1.0)
    bend = rng.uniform(-0.15, 0.15)  # the pawl's tooth and the shaft give: not quite uniform
    speed = np.clip(left + bend * np.sin(np.pi * left) * left, 0, None)
    turn = np.cumsum(speed) / rate
    power = rng.uniform(0.8, 1.3)
    flutes = rng.uniform(8, 50)
    depth = rng.uniform(0, 0.3)
    beat = 1 + depth * np.cos(2 * np.pi * flutes * turn + rng.uniform(0, 6.28))
    low, high = _band(rng, rate)
    rough = _filtered(rng, len(times), rate, low, high)
    rough += rng.uniform(0, 0.7) * _filtered(
        rng, len(times), rate, high, min(2 * high, 0.45 * rate)
    )
    mesh = rng.uniform(90, 500)
    wander = 0.15 * np.cumsum(rng.standard_normal(len(times))) / np.sqrt(rate)
    first = np.exp(1j * (2 * np.pi * mesh * turn + wander))
    tone, tones = np.ones(len(times), dtype=complex), np.zeros(len(times))
    for k in range(1, 9):
        tone *= first
        if k * mesh < 0.4 * rate:
            tones += (
                rng.uniform(0.2, 1.0) / k**0.7 * np.exp(1j * rng.uniform(0, 6.28)) * tone
            ).real
    share = rng.uniform(0, 0.7)
    mixed = rough / rough.std() * np.sqrt(1 - share) + tones / tones.std() * np.sqrt(share)
    knots = np.arange(times[0], times[-1] + 0.04, 0.04)
    slow = 1 + 0.12 * np.interp(times, knots, rng.standard_normal(len(knots)))
    return np.asarray(mixed * beat * slow * speed**power)


def _band(rng: np.random.Generator, rate: int) -> tuple[float, float]:
    low = float(np.exp(rng.uniform(np.log(150), np.log(700))))
    return low, min(float(low * np.exp(rng.uniform(1.8, 3.2))), 0.42 * rate)


def _filtered(rng: np.random.Generator, n: int, rate: int, low: float, high: float) -> Floats:
    low = min(low, 0.4 * rate)
    high = max(min(high, 0.45 * rate), low * 1.2)
    sos = butter(2, [low, high], "bandpass", fs=rate, output="sos")
    return np.asarray(sosfilt(sos, rng.standard_normal(n + rate // 8))[rate // 8 :])


def _click(rng: np.random.Generator, since: Floats, rate: int) -> Floats:
    """A small switch: one to three short high tones."""
    made = np.zeros(len(since))
    for _ in range(int(rng.integers(1, 4))):
        pitch = min(rng.uniform(1500, 7000), 0.42 * rate)
        made += rng.uniform(0.4, 1) * _mode(rng, since, pitch, rng.uniform(4e-4, 2.5e-3))
    return made


def _clack(rng: np.random.Generator, since: Floats, rate: int) -> Floats:
    """Steel on steel: modes that ring out."""
    made = np.zeros(len(since))
    for _ in range(int(rng.integers(3, 10))):
        pitch = min(float(np.exp(rng.uniform(np.log(350), np.log(7500)))), 0.42 * rate)
        made += rng.uniform(0.2, 1) * _mode(rng, since, pitch, rng.uniform(2e-3, 1.5e-2))
    return made


def _mode(rng: np.random.Generator, since: Floats, pitch: float, decay: float) -> Floats:
    rise = 1 - np.exp(-since / rng.uniform(2e-5, 2e-4))
    swing = np.sin(2 * np.pi * pitch * since + rng.uniform(0, 6.28))
    return np.asarray(rise * np.exp(-since / decay) * swing)


def _others(rng: np.random.Generator, click: float, catch: float) -> list[tuple[float, float]]:
    """Relay, plunger and an earlier pawl: when, and how loud beside the last clack."""
    made = []
    if rng.random() < 0.4:
        made.append((click + rng.uniform(0.15, 0.6) * (catch - click), rng.uniform(0.2, 0.6)))
    if rng.random() < 0.5:
        made.append((max(catch - rng.exponential(0.006), click + 0.008), rng.uniform(0.5, 1.0)))
    return made


@dataclass(frozen=True)
class _Room:
    """A few echoes off sheet metal, ground and wall."""

    delays: tuple[int, ...]
    gains: tuple[float, ...]

    @classmethod
    def drawn(cls, rng: np.random.Generator, rate: int) -> _Room:
        count = int(rng.integers(1, 5))
        delays = np.exp(rng.uniform(np.log(1e-3), np.log(0.03), count))
        gains = rng.uniform(0.05, 0.35, count) * np.exp(-delays / 0.02) * rng.choice([-1, 1], count)
        return cls(tuple(int(d * rate) for d in delays), tuple(float(g) for g in gains))

    def __call__(self, dry: Floats) -> Floats:
        wet = dry.copy()
        for delay, gain in zip(self.delays, self.gains, strict=True):
            wet[delay:] += gain * dry[: len(dry) - delay]
        return wet


def _spectrum(part: Floats, rate: int) -> tuple[Floats, Floats]:
    size = max(1024, 1 << (len(part) - 1).bit_length())
    return np.fft.rfftfreq(size, 1 / rate), np.abs(np.fft.rfft(part, size)) ** 2


def _bands(part: Floats, rate: int) -> list[tuple[float, float]]:
    """Third-octave bands, strongest first, until they hold 90 % of the energy."""
    frequency, energy = _spectrum(part, rate)
    middles = 100 * 2 ** (np.arange(0, 24) / 3)
    edges = [(m * 2 ** (-1 / 6), m * 2 ** (1 / 6)) for m in middles if m * 2 ** (1 / 6) < rate / 2]
    held = [float(energy[(frequency >= a) & (frequency < b)].sum()) for a, b in edges]
    order = np.argsort(held)[::-1]
    count = int(np.searchsorted(np.cumsum(np.array(held)[order]), 0.9 * sum(held))) + 1
    return [edges[k] for k in order[:count]]


def _gain(
    signal: Floats, noise: Floats, rate: int, bands: list[tuple[float, float]], snr: float
) -> float:
    def energy(part: Floats) -> float:
        frequency, power = _spectrum(part, rate)
        inside = np.zeros(len(frequency), dtype=bool)
        for a, b in bands:
            inside |= (frequency >= a) & (frequency < b)
        return float(power[inside].sum())

    return float(np.sqrt(10 ** (snr / 10) * energy(noise) / energy(signal)))


def _microphone(rng: np.random.Generator, samples: Floats, rate: int) -> Floats:
    """Mono or stereo; a phone's low end; now and then the low-pass of a coded file."""
    samples = sosfilt(butter(1, rng.uniform(60, 150), "highpass", fs=rate, output="sos"), samples)
    if rng.random() < 0.3:
        corner = min(rng.uniform(10_000, 16_000), 0.45 * rate)
        samples = sosfilt(butter(6, corner, fs=rate, output="sos"), samples)
    level = 10 ** rng.uniform(-1.6, -0.3)
    samples = samples * level / np.abs(samples).max()
    if rng.random() < 0.5:
        return np.round(samples[:, None] * 32767) / 32767
    late = int(rng.integers(0, max(2, int(4e-4 * rate))))
    other = np.roll(samples, late) * rng.uniform(0.6, 1.0)
    both = np.stack([samples, other], axis=1)
    hiss = 10 ** rng.uniform(-4.5, -3.5) * rng.standard_normal(both.shape)
    return np.round((both + hiss) * 32767) / 32767
