"""Whether a file's sampling rate is true, by a tone that is known to sound."""

from __future__ import annotations

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.recordings.recording import Trouble
from tripmargin.recordings.stop_time.sound_frames import Floats

FROM, TO = 0.8, 1.25
"""Found over known tone that is searched."""
HARMONICS = (1, 2, 3)
STANDS_OUT = 6.0
"""Standard deviations by which a tone must stand out."""
WITHIN = 0.004
"""Relative; nearer than that counts as the same."""
USUAL = (8000, 11_025, 16_000, 22_050, 24_000, 32_000, 44_100, 48_000, 96_000)
LOOKED_AT = 10.0
"""s of sound that are looked at."""


def rate_troubles(samples: Floats, rate: float, tone: float) -> tuple[Trouble, ...]:
    """What a known tone says about the rate: nothing where it is true.

    Parameters
    ----------
    samples
        (n, channels).
    rate
        As the file says or as given, Hz.
    tone
        Known to sound, Hz, with its multiples.
    """
    ratio = _found(samples.mean(axis=1), rate, tone)
    if ratio is None:
        words = say(
            "The tone of {tone:g} Hz was not found, so the sampling rate was not checked.",
            tone=tone,
        )
        return (Trouble("rate", words),)
    if abs(ratio - 1) < WITHIN:
        return ()
    true = rate / ratio
    for usual in USUAL:
        if abs(true / usual - 1) < WITHIN:
            true = usual
    words = say(
        "The tone of {tone:g} Hz is found at {found:.3g} Hz: {rate:g} samples a second"
        " is not the true rate, and every time is off by as much. Try {true:.0f} samples"
        " a second.",
        tone=tone,
        found=tone * ratio,
        rate=rate,
        true=true,
    )
    return (Trouble("rate", words),)


def _found(samples: Floats, rate: float, tone: float) -> float | None:
    """Found over known tone, or None where none stands out."""
    size = 1 << (4 * len(samples) - 1).bit_length()
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), size)) ** 2
    frequencies = np.fft.rfftfreq(size, 1 / rate)
    ratios = np.linspace(FROM, TO, 4001)
    total = np.zeros(len(ratios))
    for k in HARMONICS:
        level = np.log(np.interp(k * tone * ratios, frequencies, spectrum) + 1e-30)
        total += level - np.median(level)
    best = int(np.argmax(total))
    spread = 1.4826 * float(np.median(np.abs(total - np.median(total))))
    if total[best] < STANDS_OUT * max(spread, 0.3):
        return None
    return float(ratios[best])
