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
