"""Small recordings of a stop, made up: as files that a browser sends."""

from __future__ import annotations

import io
import wave

import numpy as np

RATE = 48_000
CLICK, CATCH, REST = 1.5, 1.535, 1.552  # s


def stop_wav(seed: int = 1, seconds: float = 3.0) -> bytes:
    """A button's click, the pawls' clack and rolls whose noise dies away, over an even noise."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(seconds * RATE)) / RATE
    speed = np.clip((REST - t) / (REST - CATCH), 0.0, 1.0)
    sound = 0.002 * rng.standard_normal(t.size) + 0.03 * speed * rng.standard_normal(t.size)
    for at, loud, pitch in ((CLICK, 0.25, 3100.0), (CATCH, 0.6, 1900.0)):
        after = np.clip(t - at, 0.0, None)
        sound += loud * (t >= at) * np.exp(-after / 0.003) * np.sin(2 * np.pi * pitch * after)
    return wav_of(sound)


def silent_wav() -> bytes:
    """Two seconds of nothing at all."""
    return wav_of(np.zeros(2 * RATE))


def wav_of(sound: np.ndarray) -> bytes:
    """16 bits, one channel."""
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    return file.getvalue()


def logger_csv(
    decimal: str = ".", delimiter: str = ";", header: str = "time [s];trip [V];roll [V]"
) -> bytes:
    """A trip line that falls at 0.9 s and a roll's speed that is gone at 0.96 s; 2 kHz."""
    t = np.arange(0, 1.5, 5e-4)
    rng = np.random.default_rng(3)
    trip = np.where(t < 0.9, 12.0, 0.2)
    roll = 5 * np.clip((0.96 - t) / 0.02, 0, 1) + 0.01 * rng.standard_normal(t.size)
    rows = [
        delimiter.join(f"{value:.5f}".replace(".", decimal) for value in row)
        for row in zip(t, trip, roll, strict=True)
    ]
    return "\n".join([header.replace(";", delimiter), *rows, ""]).encode()


NOISE_RATE, NOISE_TURNS, NOISE_FLOOR = 1000, 5.0, 0.07  # 1/s, 1/s, V


def quiet_csv(
    decimal: str = ".", delimiter: str = ";", seconds: float = 20.0, *, pickup: bool = True,
    head: str = "",
) -> bytes:  # fmt: skip
    """A quiet run: Gaussian noise of a known rms, a roll that turns evenly, its pickup's pulses."""
    rng = np.random.default_rng(5)
    t = np.arange(int(seconds * NOISE_RATE)) / NOISE_RATE
    turns = NOISE_TURNS * t
    f = np.fft.rfftfreq(t.size, 1 / NOISE_RATE)
    shape = (1j * f / 8) / (1 + 1j * f / 8) / (1 + 1j * f / 100) ** 2
    floor = np.fft.irfft(np.fft.rfft(rng.standard_normal(t.size)) * shape, t.size)
    output = NOISE_FLOOR * floor / floor.std() + 0.2 * np.cos(2 * np.pi * turns)
    columns = [t, output, np.where(turns % 1 < 0.1, 5.0, 0.0)]
    names = ["time [s]", "output [V]", "roll pulses [V]"]
    rows = [
        delimiter.join(f"{value:.5f}".replace(".", decimal) for value in row)
        for row in zip(*columns[: 3 if pickup else 2], strict=True)
    ]
    header = delimiter.join(names[: 3 if pickup else 2])
    return "\n".join([f"{head}{header}", *rows, ""]).encode()
