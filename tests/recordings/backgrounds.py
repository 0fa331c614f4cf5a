"""Real machine noise for the tests: recordings that come with two of Debian's packages.

openttd-opensfx (9.9 MB): sounds under CC-BY 3.0, CC-BY-SA 3.0 and CC0, the collection under
CC-BY-SA 3.0; crrcsim-data (5.3 MB): GPL-2. `make test` installs both (tools/system_tools.py);
nothing of them is kept in this repository.
"""

from __future__ import annotations

import io
import struct
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.reference import lacking

CATALOGUE = Path("/usr/share/games/openttd/baseset/opensfx/opensfx.cat")
MOTOR = Path("/usr/share/games/crrcsim/sounds/electric.wav")
ENGINES = (
    "Helicopter", "Truck/old bus start, pull away", "Modern bus start", "Old bus start",
    "Mining machinery", "Propeller plane start", "Jackhammer", "Sawmill", "Lumber mill: Chainsaw",
    "Early jet take off",
)  # fmt: skip
STEADY = 6.0
"""dB that a tenth of a second may lie from the middle: the machine runs, it is not switched."""


@dataclass(frozen=True, eq=False)
class Background:
    """A machine's noise: mono, with its sampling rate, Hz."""

    name: str
    rate: int
    samples: NDArray[np.float64]


@cache
def backgrounds() -> tuple[Background, ...]:
    """Every background; skips loudly where a package is missing, fails under CI=true."""
    for package, path in (("openttd-opensfx", CATALOGUE), ("crrcsim-data", MOTOR)):
        if not path.is_file():
            lacking(f"machine noise of package {package} (`make test` installs it where it may)")
    found = dict(_catalogue(CATALOGUE.read_bytes()))
    made = [_background(name, found[name]) for name in ENGINES]
    motor = _background("electric motor", MOTOR.read_bytes())
    return (*made, Background(motor.name, motor.rate, _looped(motor.samples, 3 * motor.rate)))


def _catalogue(data: bytes) -> list[tuple[str, bytes]]:
    """Names and WAV files of a sound catalogue: offsets and sizes first, then name and file."""
    count = (struct.unpack("<I", data[:4])[0] & 0x7FFFFFFF) // 8
    made = []
    for k in range(count):
        start, size = struct.unpack("<II", data[8 * k : 8 * k + 8])
        start &= 0x7FFFFFFF
        end = start + 1 + data[start]
        title = data[start + 1 : end].decode("utf-8", "replace")
        made.append((title.split('"')[1], data[end : end + size]))
    return made


def _background(name: str, wav: bytes) -> Background:
    import soundfile

    samples, rate = soundfile.read(io.BytesIO(wav), always_2d=True)
    return Background(name, rate, _steady(samples.mean(axis=1), rate))


def _steady(samples: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    """The longest stretch that keeps its level."""
    step = rate // 10
    count = len(samples) // step
    power = (samples[: count * step].reshape(count, step) ** 2).mean(axis=1)
    level = 10 * np.log10(power + 1e-12)
    good = np.abs(level - np.median(level)) < STEADY
    best, start = (0, 0), 0
    for k in range(count + 1):
        if k == count or not good[k]:
            best = max(best, (k - start, start))
            start = k + 1
    length, first = best
    return samples[first * step : (first + length) * step]


def _looped(samples: NDArray[np.float64], length: int, blend: int = 800) -> NDArray[np.float64]:
    """A short stretch repeated, ends blended, so that no click stands at the seam."""
    fade = np.sin(np.linspace(0, np.pi / 2, blend)) ** 2
    made = samples.copy()
    while len(made) < length:
        seam = made[-blend:] * np.sqrt(1 - fade) + samples[:blend] * np.sqrt(fade)
        made = np.concatenate([made[:-blend], seam, samples[blend:]])
    return made[:length]
