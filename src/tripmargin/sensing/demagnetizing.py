"""How strongly an ellipsoid of soft iron answers a field: its shape, then its permeability."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import say

__all__ = ["demagnetizing_factors", "polarizability"]


def demagnetizing_factors(semi_axes: ArrayLike) -> NDArray[np.float64]:
    """Demagnetizing factors of ellipsoids along their own axes.

    Parameters
    ----------
    semi_axes : array_like, shape (..., 3), m
        Semi-axes a, b, c, any order, all positive.

    Returns
    -------
    ndarray, shape (..., 3)
        N_a, N_b, N_c in the order given; they sum to 1.

    Raises
    ------
    ValueError
        If a semi-axis is not positive and finite.

    Notes
    -----
    N_a = (a b c / 3) R_D(b^2, c^2, a^2), Carlson's form of Osborn's integrals.
    Osborn, Phys. Rev. 67 (1945) 351; DLMF 19.16.

    Examples
    --------
    >>> demagnetizing_factors([3.0, 2.0, 1.0]).round(6)
    array([0.156301, 0.267154, 0.576545])
    """
    from scipy.special import elliprd

    axes = _checked_semi_axes(semi_axes)
    # Only proportions matter; measured against the longest axis no square can overflow.
    a, b, c = np.moveaxis(axes / axes.max(axis=-1, keepdims=True), -1, 0)
    third = a * b * c / 3.0
    aa, bb, cc = a * a, b * b, c * c
    factors = np.stack(
        [third * elliprd(bb, cc, aa), third * elliprd(cc, aa, bb), third * elliprd(aa, bb, cc)],
        axis=-1,
    )
    return np.asarray(factors, dtype=np.float64)


def polarizability(semi_axes: ArrayLike, relative_permeability: ArrayLike) -> NDArray[np.float64]:
    """Magnetic polarizability of ellipsoids along their own axes.

    The moment in an even field is ``polarizability * B0 / mu0``.

    Parameters
    ----------
    semi_axes : array_like, shape (..., 3), m
        Semi-axes a, b, c, any order, all positive.
    relative_permeability : array_like, shape (...), dimensionless
        One value for each ellipsoid, or one for all. Infinity is allowed.

    Returns
    -------
    ndarray, shape (..., 3), m^3
        alpha_a, alpha_b, alpha_c in the order given.

    Raises
    ------
    ValueError
        If a semi-axis is not positive and finite, or a permeability not positive.

    Notes
    -----
    alpha_i = V (mu_r - 1) / (1 + N_i (mu_r - 1)), with the volume V and the demagnetizing factors
    N_i. Osborn, Phys. Rev. 67 (1945) 351; for a sphere Jackson, Classical Electrodynamics, 5.11
    (both from memory).

    Examples
    --------
    A steel ball, 20 mm across, mu_r = 200:

    >>> polarizability([0.01, 0.01, 0.01], 200).round(9)
    array([1.238e-05, 1.238e-05, 1.238e-05])
    """
    axes = _checked_semi_axes(semi_axes)
    permeability = np.asarray(relative_permeability, dtype=np.float64)[..., np.newaxis]
    if not np.all(permeability > 0.0):  # a nan fails this too
        raise ValueError(
            say(
                "relative permeability = {value!r}: must be positive (1 for"
                " air, about 200 for steel; infinity is allowed).",
                value=relative_permeability,
            )
        )
    factors = demagnetizing_factors(axes)
    volume = 4.0 / 3.0 * np.pi * axes.prod(axis=-1, keepdims=True)
    endless = np.isinf(permeability)
    susceptibility = np.where(endless, 1.0, permeability - 1.0)
    answer = np.where(endless, 1.0 / factors, susceptibility / (1.0 + factors * susceptibility))
    return np.asarray(volume * answer, dtype=np.float64)


def _checked_semi_axes(semi_axes: ArrayLike) -> NDArray[np.float64]:
    axes = np.asarray(semi_axes, dtype=np.float64)
    if axes.ndim == 0 or axes.shape[-1] != 3:
        raise ValueError(
            say("semi-axes of shape {shape}: an ellipsoid has three, (..., 3).", shape=axes.shape)
        )
    good = np.isfinite(axes) & (axes > 0.0)
    if not good.all():
        raise ValueError(
            say("semi-axis = {value} m: must be positive and finite.", value=axes[~good][0])
        )
    return axes
