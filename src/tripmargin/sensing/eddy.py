"""A conducting ball in an alternating field: what its own eddy currents add or take away."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import numeral, say

__all__ = ["sphere_polarizability"]

_MU0 = 4e-7 * np.pi  # H/m; the measured value differs by 1e-10 of itself
_LITTLE = 4.0  # below it the continued fraction, above it the closed form
_LAST_ODD = 49  # enough terms for all digits below that


def sphere_polarizability(
    radius: ArrayLike,
    conductivity: ArrayLike,
    relative_permeability: ArrayLike,
    frequency: ArrayLike,
) -> NDArray[np.complex128]:
    """Polarizability of a conducting, permeable ball in an even field that alternates.

    The moment is ``polarizability * H0``, with the time factor exp(+j w t): a negative imaginary
    part lags behind the field, as losses do.

    Parameters
    ----------
    radius : array_like, shape (...), m
        Positive.
    conductivity : array_like, shape (...), S/m
        Zero or more.
    relative_permeability : array_like, shape (...), dimensionless
        Positive and finite.
    frequency : array_like, shape (...), Hz
        Zero or more; at zero the answer is that of a resting field.

    Returns
    -------
    ndarray of complex, shape (...), m^3

    Raises
    ------
    ValueError
        If an input is outside the ranges above.

    Notes
    -----
    alpha = 2 pi a^3 (2 (mu_r - 1) - W) / (mu_r + 2 + W), with W = x^2 / (x coth x - 1) - 3 and
    x^2 = j w mu0 mu_r sigma a^2, which is Wait's sphere (Geophysics 16 (1951) 666, from memory)
    written so that the resting part stands apart. W is 0 at rest, which leaves
    4 pi a^3 (mu_r - 1) / (mu_r + 2), and grows as x, which ends at -2 pi a^3: no field inside.

    Examples
    --------
    An aluminium ball, 15 mm across, at 50 Hz: a static steel ball of that size has 5.2e-6 m^3.

    >>> alpha = sphere_polarizability(0.0075, 1 / 3.3e-8, 1.0, 50.0)
    >>> print(f"{alpha:.4e}")
    -7.5864e-09-1.1841e-07j
    """
    a = _checked("radius", radius, "m", zero_allowed=False)
    sigma = _checked("conductivity", conductivity, "S/m", zero_allowed=True)
    mu = _checked("relative permeability", relative_permeability, "", zero_allowed=False)
    f = _checked("frequency", frequency, "Hz", zero_allowed=True)
    x = np.sqrt(2j * np.pi * f * _MU0 * mu * sigma) * a
    w = _skin_term(np.atleast_1d(x)).reshape(np.shape(x))
    alpha = 2.0 * np.pi * a**3 * (2.0 * (mu - 1.0) - w) / (mu + 2.0 + w)
    return np.asarray(alpha, dtype=np.complex128)


def _skin_term(x: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """W = x^2 / (x coth x - 1) - 3 = x I_{5/2}(x) / I_{3/2}(x).

    Near zero the difference loses its digits, so there the continued fraction of the Bessel ratio
    is taken instead: W = x^2 / (5 + x^2 / (7 + x^2 / (9 + ...))), DLMF 10.33 (from memory).
    """
    thick = np.abs(x) < _LITTLE
    small = np.where(thick, x, 0.0) ** 2
    tail = np.full_like(x, _LAST_ODD)
    for odd in range(_LAST_ODD - 2, 3, -2):
        tail = odd + small / tail
    big = np.where(thick, _LITTLE, x)
    decay = np.exp(-2.0 * big)  # coth by a falling exponential cannot overflow
    coth = (1.0 + decay) / (1.0 - decay)
    return np.where(thick, small / tail, big / (coth - 1.0 / big) - 3.0)


def _checked(name: str, value: ArrayLike, unit: str, *, zero_allowed: bool) -> NDArray[np.float64]:
    numbers = np.asarray(value, dtype=np.float64)
    good = np.isfinite(numbers) & ((numbers >= 0.0) if zero_allowed else (numbers > 0.0))
    if not good.all():
        seen = np.atleast_1d(numbers)[~np.atleast_1d(good)][0]
        value = f"{numeral(float(seen), 'g')} {unit}".strip()
        if zero_allowed:
            raise ValueError(
                say("{name} = {value}: must be zero or more and finite.", name=name, value=value)
            )
        raise ValueError(
            say("{name} = {value}: must be positive and finite.", name=name, value=value)
        )
    return numbers
