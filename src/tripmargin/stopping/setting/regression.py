"""A straight-line law learned from a few values and from what was believed before."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Regression:
    """What is believed of the coefficients and of the scatter about the law.

    Attributes
    ----------
    mean : ndarray, (k,)
        Of the coefficients.
    spread : ndarray, (k, k)
        Their covariance for a scatter of variance 1.
    shape, scale : float
        The scatter's variance is inverse gamma with these.
    count : int
        Values that it was learned from.
    """

    mean: Array
    spread: Array
    shape: float
    scale: float
    count: int

    @property
    def scatter_variance(self) -> float:
        """Of the values about the law: scale over shape, as in a sum of squares over its count."""
        return self.scale / self.shape

    @property
    def standard_errors(self) -> Array:
        """Of the coefficients: the scale of their t distribution, (k,)."""
        return np.asarray(np.sqrt(self.scatter_variance * np.diag(self.spread)))


def regression(
    design: ArrayLike,
    values: ArrayLike,
    *,
    mean: ArrayLike | None = None,
    precision: ArrayLike | None = None,
    shape: float | None = None,
    scale: float = 0.0,
) -> Regression:
    """Learn coefficients b in values = design b + scatter.

    Parameters
    ----------
    design : array_like, (n, k)
    values : array_like, (n,)
    mean : array_like, (k,), optional
        Of the coefficients before. Without it nothing is believed before.
    precision : array_like, (k, k), optional
        Its inverse covariance, for a scatter of variance 1. Zero: nothing is believed.
    shape, scale : float, optional
        Of the scatter's variance before, inverse gamma. Without a shape nothing is believed of it,
        and the result is that of least squares.

    Raises
    ------
    ValueError
        If the sizes do not fit, or values and belief together are too few for the coefficients.

    Notes
    -----
    The conjugate law: coefficients normal given the scatter's variance, that inverse gamma
    (Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 14; O'Hagan, Kendall's Advanced Theory
    2B; from memory). Solved by orthogonal steps on the values with the belief as further rows, so
    that no precision is lost in products. Without any belief: ordinary least squares, the shape
    being half the degrees of freedom.

    Examples
    --------
    >>> found = regression([[1.0], [2.0]], [1.1, 2.2], mean=[1.0], precision=[[1.0]], shape=2)
    >>> found.mean.round(4), found.count
    (array([1.0833]), 2)
    """
    x = np.atleast_2d(np.asarray(design, dtype=float))
    y = np.asarray(values, dtype=float)
    n, k = x.shape
    if y.shape != (n,):
        raise ValueError(f"{n} rows of the design, but values of shape {y.shape}.")
    before = np.zeros(k) if mean is None else np.asarray(mean, dtype=float)
    inverse = np.zeros((k, k)) if precision is None else np.asarray(precision, dtype=float)
    # Rows r with r'r the precision stand in for what was believed before.
    sizes, axes = np.linalg.eigh(inverse)
    rows = np.sqrt(np.maximum(sizes, 0.0))[:, None] * axes.T
    whole = np.vstack([x, rows])
    target = np.concatenate([y, rows @ before])
    q, r = np.linalg.qr(whole)
    if np.abs(np.diag(r)).min() <= 1e-12 * np.abs(np.diag(r)).max():
        raise ValueError(f"{n} values are too few for {k} coefficients.")
    found = np.linalg.solve(r, q.T @ target)
    back = np.linalg.solve(r, np.eye(k))
    left = target - whole @ found
    freedom = (n - k) / 2 if shape is None else shape + n / 2
    if freedom <= 0:
        raise ValueError(f"{n} values are too few for {k} coefficients.")
    return Regression(found, back @ back.T, freedom, scale + float(left @ left) / 2, n)
