"""How much a compressed file may unpack into: a small file must not hold a computer for hours."""

from __future__ import annotations

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import refusal

ANY_FILE = 1 << 28
"""Samples of all channels that any file may unpack into: 46 minutes of stereo at 48 kHz."""
DENSEST = 256
"""Numbers for each byte of the file, beyond that: speech codings at their lowest rate have 64."""
MOST = 1 << 32
"""Numbers at the very most: 12 hours of stereo at 48 kHz."""


def refuse_too_much(original: Original, numbers: int) -> None:
    """Refuse to go on unpacking.

    Files that are not compressed hold at most one number a byte, and are as long as they are.

    Parameters
    ----------
    original
        The file.
    numbers
        Unpacked so far, or promised by the file.

    Raises
    ------
    RecordingError
        Where that is more than such a file may unpack into.
    """
    packed = numbers > original.size
    if numbers <= ANY_FILE or not packed:
        return
    if numbers <= MOST and numbers <= DENSEST * original.size:
        return
    raise refusal(
        original.path,
        say(
            "{size:,} bytes that unpack into more than {numbers:,} numbers",
            size=original.size,
            numbers=numbers - 1,
        ),
        allowed=say(
            "{any:,} numbers from any file; more only from larger files, up to"
            " {each} for each byte, and {most:,} at most",
            any=ANY_FILE,
            each=DENSEST,
            most=MOST,
        ),
        hint=say("Cut out the part that is wanted, and read that."),
    )
