"""Quiet runs made for the tests: noise behind the textbook filter, a turning roll, its pickup."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

import tripmargin as tm
from tripmargin.recordings.reading import recording_of_arrays
from tripmargin.recordings.recording import Recording

Floats = NDArray[np.float64]
LOW, HIGH, RATE = 8.0, 100.0, 1000.0
NOISE, THRESHOLD = 0.07, 0.6
ORDERS = {1: (0.20, 0.3), 2: (0.08, -1.0), 3: (0.05, 2.0), 7: (0.03, 1.1)}


def machine(**settings: str) -> tm.Machine:
    """Whimbrel with a narrow band, so that short runs at low rates tell enough."""
    given = {
        "detector.low_cut": f"{LOW} Hz", "detector.high_cut": f"{HIGH} Hz",
        "detector.threshold": f"{THRESHOLD} V", **settings,
    }  # fmt: skip
    return tm.load_machine("whimbrel").with_settings(given)


def filtered(
    samples: int, random: np.random.Generator, *, rate: float = RATE, low: float | None = LOW,
    high: float = HIGH, poles: int = 2, noise: float = NOISE,
) -> Floats:  # fmt: skip
    """White Gaussian noise through the filter's own response, of a given rms."""
    lead = int(rate)
    white = random.standard_normal(samples + 2 * lead)
    f = np.fft.rfftfreq(len(white), 1 / rate)

    def response(f: Floats) -> NDArray[np.complex128]:
        s, w = 2j * pi * f, 2 * pi * high
        made = w**2 / (s**2 + sqrt(2) * w * s + w**2) if poles == 2 else w / (s + w)
        return made if low is None else made * s / (s + 2 * pi * low)

    made = np.fft.irfft(np.fft.rfft(white) * response(f), len(white))[lead : lead + samples]
    fine = np.linspace(0, rate / 2, 100_001)
    return np.asarray(made * noise / np.sqrt(np.mean(np.abs(response(fine)) ** 2)))


def turns(
    samples: int, *, rate: float = RATE, per_second: float = 5.0, wander: float = 0.02
) -> Floats:
    """The roll's turns, its speed wandering by some per cent in two slow waves."""
    t = np.arange(samples) / rate
    speed = 1 + wander * np.sin(2 * pi * t / 17 + 1) + wander / 2 * np.sin(2 * pi * t / 5.3)
    return np.cumsum(per_second * speed) / rate


def harmonics(at: Floats, orders: dict[int, tuple[float, float]]) -> Floats:
    """The known sum: amplitude and phase of each order."""
    waves = [a * np.cos(2 * pi * k * at + phase) for k, (a, phase) in orders.items()]
    return np.sum(waves, axis=0) if waves else np.zeros(len(at))


def quiet_run(
    seconds: float = 30.0, *, seed: int = 0, orders: dict[int, tuple[float, float]] | None = None,
    wander: float = 0.02, rate: float = RATE, pickup: bool = True, **noise: float,
) -> Recording:  # fmt: skip
    """Detector's output, and the pickup's pulses at each whole turn."""
    random = np.random.default_rng(seed)
    samples = int(seconds * rate)
    at = turns(samples, rate=rate, wander=wander)
    output = harmonics(at, ORDERS if orders is None else orders)
    output = output + filtered(samples, random, rate=rate, **noise)
    if not pickup:
        return recording_of_arrays(output, rate=rate, names=["output"], units=["V"])
    # a pulse whose edge rises over a few samples, its middle at the whole turn
    part = (at + 0.5) % 1 - 0.5
    pulses = 5 * np.clip(0.5 + part / 0.02, 0, 1) * (part < 0.2)
    both = np.column_stack([output, pulses])
    return recording_of_arrays(both, rate=rate, names=["output", "roll"], units=["V", "V"])
