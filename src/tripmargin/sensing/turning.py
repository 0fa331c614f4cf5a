"""Turning about the roll's axis."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def rotate_about_x(vectors: ArrayLike, angle: float) -> NDArray[np.float64]:
    """Vectors (..., 3) turned about +x, right-handed, by an angle in rad.

    >>> rotate_about_x([0.0, 1.0, 0.0], np.pi / 2).round(12)
    array([0., 0., 1.])
    """
    v = np.asarray(vectors, dtype=float)
    cosine, sine = np.cos(angle), np.sin(angle)
    y, z = v[..., 1], v[..., 2]
    return np.stack([v[..., 0], cosine * y - sine * z, sine * y + cosine * z], axis=-1)
