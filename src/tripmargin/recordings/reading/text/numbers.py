"""Numbers from text, a whole piece at once, rounded as the language itself rounds them.

Eight digits at a time in one machine word: Lemire, "Quickly parsing eight digits" (2018), from
memory. A number is its digits as one integer, times a power of ten. Where that integer fits into
53 bits and the power is at most 22, one division or multiplication rounds correctly (Clinger, PLDI
1990); up to 18 digits the remainder of the division is carried along (Dekker, Numer. Math. 18
(1971) 224). What remains is left to the language, number by number.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tripmargin.recordings.reading.text.cells import PAD, Bytes, Places

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
_U = np.uint64
_ZEROS, _HIGH = _U(0x3030303030303030), _U(0xF0F0F0F0F0F0F0F0)
_SIX, _THREES, _ALL = _U(0x0606060606060606), _U(0x3333333333333333), _U(0xFFFFFFFFFFFFFFFF)
_PAIRS = _U(0x000000FF000000FF)
_HUNDREDS, _TEN_THOUSANDS = _U(0x000F424000000064), _U(0x0000271000000001)
_DIGITS = 18  # of one number: below 2**63
_EXACT = 22  # powers of ten up to this are exact in double precision
_POWERS: Floats = np.array([float(f"1e{k}") for k in range(_EXACT + 1)])
_WHOLE_POWERS = 10 ** np.arange(_DIGITS + 1)
_SPLIT = 134217729.0  # 2**27 + 1
_BATCH = 1 << 13  # numbers at a time: what is worked on stays in the processor's cache


def parsed(
    letters: Bytes, starts: Places, ends: Places, points: Places, powers: Places
) -> tuple[Floats, Bools]:
    """Numbers of cells, and which of them were read.

    Parameters
    ----------
    letters, starts, ends, points, powers
        As `Cells` has them; the places of one shape.

    Returns
    -------
    values, read : ndarray, the places' shape
        Where `read` is false, the value means nothing.
    """
    values, read = np.empty(starts.size), np.empty(starts.size, np.bool_)
    words = _words(letters)
    flat = [each.ravel() for each in (starts, ends, points, powers)]
    for k in range(0, starts.size, _BATCH):
        some = slice(k, k + _BATCH)
        values[some], read[some] = _parsed(letters, words, *(each[some] for each in flat))
    return values.reshape(starts.shape), read.reshape(starts.shape)


def _parsed(
    letters: Bytes,
    words: NDArray[np.uint64],
    starts: Places,
    ends: Places,
    points: Places,
    powers: Places,
) -> tuple[Floats, Bools]:
    first = letters[PAD:][starts]
    negative = first == 45  # -
    begin = starts + (negative | (first == 43))  # +
    behind = np.minimum(points + 1, powers)
    whole, read = _digits(words, begin, points)
    part, part_read = _digits(words, behind, powers)
    parts = powers - behind
    figures = (points - begin) + parts
    read &= part_read & (figures > 0) & (figures <= _DIGITS)
    parts = np.minimum(parts, _DIGITS)
    integer = whole * _WHOLE_POWERS[parts] + part
    scale = -parts
    if (with_power := powers < ends).any():
        at = np.flatnonzero(with_power)
        power, power_read = _power(letters, words, powers[at] + 1, ends[at])
        read[at] &= power_read
        scale = scale.copy()
        scale[at] += power
    read &= np.abs(scale) <= _EXACT
    values = _scaled(integer, np.clip(scale, -_EXACT, _EXACT))
    values *= 1.0 - 2.0 * negative
    return values, read


def _words(letters: Bytes) -> NDArray[np.uint64]:
    """Entry p: the eight letters before place p as one word, the last in the highest byte."""
    words: NDArray[np.uint64] = np.ndarray(
        (len(letters) - PAD + 1,), np.dtype("<u8"), letters, strides=(1,)
    )
    return words


def _digits(words: NDArray[np.uint64], starts: Places, ends: Places) -> tuple[Places, Bools]:
    """Whole numbers of up to 18 digits, 0 where there is no digit; and whether all are digits."""
    width = ends - starts
    values, read = _eight(words, ends, np.minimum(width, 8))
    for done in (8, 16):
        if not (longer := width > done).any():
            break
        at = np.flatnonzero(longer)
        more, more_read = _eight(words, ends[at] - done, np.minimum(width[at] - done, 8))
        values[at] += more * 10**done
        read[at] &= more_read & (width[at] <= _DIGITS)
    return values, read


def _eight(words: NDArray[np.uint64], ends: Places, width: Places) -> tuple[Places, Bools]:
    """Up to eight digits that end before a place."""
    kept = _ALL << (_U(64) - (np.maximum(width, 0).astype(_U) << _U(3)))
    kept[width <= 0] = 0
    word = words[np.maximum(ends, 0)].astype(_U)
    word = (word & kept) | (_ZEROS & ~kept)
    read = ((word & _HIGH) | (((word + _SIX) & _HIGH) >> _U(4))) == _THREES
    word -= _ZEROS
    word = word * _U(10) + (word >> _U(8))
    word = ((word & _PAIRS) * _HUNDREDS + ((word >> _U(16)) & _PAIRS) * _TEN_THOUSANDS) >> _U(32)
    return word.astype(np.int64), read


def _power(
    letters: Bytes, words: NDArray[np.uint64], starts: Places, ends: Places
) -> tuple[Places, Bools]:
    """The power of ten behind the letter e."""
    first = letters[PAD:][np.minimum(starts, len(letters) - 2 * PAD - 1)]
    negative = first == 45
    begin = starts + (negative | (first == 43))
    power, read = _eight(words, ends, np.minimum(ends - begin, 8))
    read &= (ends > begin) & (ends - begin <= 8)
    return np.where(negative, -power, power), read


def _scaled(integer: Places, scale: Places) -> Floats:
    """An integer times a power of ten, rounded once."""
    near = integer.astype(np.float64)
    power: Floats = _POWERS[np.abs(scale)]
    values: Floats = near / power
    if (up := scale > 0).any():
        values = np.where(up, near * power, values)
    large = np.abs(integer) >= 2**53
    if large.any():
        at = np.flatnonzero(large)
        values[at] = _carried(integer[at], near[at], power[at], scale[at] > 0)
    return values


def _carried(integer: Places, near: Floats, power: Floats, up: Bools) -> Floats:
    """As `_scaled`, with what the first rounding lost added back."""
    lost = (integer - near.astype(np.int64)).astype(np.float64)
    high, low = _product(near, power)
    multiplied = high + (low + lost * power)
    quotient = near / power
    high, low = _product(quotient, power)
    divided = quotient + (((near - high) - low) + lost) / power
    return np.where(up, multiplied, divided)


def _product(a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """The product of two numbers as a sum of two (Dekker)."""
    high = a * b
    a1, a2 = _halves(a)
    b1, b2 = _halves(b)
    return high, ((a1 * b1 - high) + a1 * b2 + a2 * b1) + a2 * b2


def _halves(a: Floats) -> tuple[Floats, Floats]:
    wide = _SPLIT * a
    high = wide - (wide - a)
    return high, a - high
