"""Regions of a field on a grid, and the lines between them, in pixels."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import cast

import numpy as np

from tripmargin.pictures.boxes import STEP, Box
from tripmargin.pictures.data import Array
from tripmargin.pictures.svg import path_of


def along(
    positions: Array, values: Array, axis: int, *, alone: Callable[[float], tuple[float, float]]
) -> tuple[Array, Array]:
    """Grid positions rising, each once and at least two, with the values that belong to them.

    Parameters
    ----------
    positions : ndarray, shape (n,)
    values : ndarray, n values along `axis`
    alone : callable
        Gives a single position a little width: its two ends.
    """
    rising, first = np.unique(np.asarray(positions, dtype=float), return_index=True)
    kept = np.take(np.asarray(values, dtype=float), first, axis=axis)
    if len(rising) > 1:
        return rising, kept
    return np.array(alone(float(rising[0]))), np.repeat(kept, 2, axis=axis)


@dataclass(frozen=True, slots=True)
class Field:
    """Values on a grid whose lines lie at the pixels x (rising) and y (falling or rising).

    Attributes
    ----------
    x : ndarray, shape (nx,), px
    y : ndarray, shape (ny,), px
    values : ndarray, shape (ny, nx)
    """

    x: Array
    y: Array
    values: Array

    def region(self, low: float, high: float = np.inf) -> str:
        """Path data of where low <= value < high, straight lines between grid values."""
        from contourpy import FillType, contour_generator

        top = min(high, float(self.values.max()) + abs(low) + 1.0)
        if float(self.values.max()) < low or top <= low:
            return ""
        # A value that sits on the level itself belongs to the region above it.
        below = low - 1e-12 * max(1.0, abs(low))
        maker = contour_generator(self.x, self.y, self.values, fill_type=FillType.OuterOffset)
        outlines, offsets = cast(tuple[list[Array], list[list[int]]], maker.filled(below, top))
        return "".join(
            path_of(points[start:stop], closed=True)
            for points, cuts in zip(outlines, offsets, strict=True)
            for start, stop in pairwise(cuts)
        )

    def line(self, level: float) -> str:
        """Path data of the line where value = level."""
        return "".join(path_of(points) for points in self.lines(level))

    def lines(self, level: float) -> list[Array]:
        """The same as arrays of points, shape (n, 2), px."""
        from contourpy import LineType, contour_generator

        maker = contour_generator(self.x, self.y, self.values, line_type=LineType.Separate)
        return [np.asarray(points, dtype=float) for points in maker.lines(level)]

    def on_mask(self, box: Box) -> Array:
        """Values at the centres of the cells of a mask over a box, linear between grid values."""
        px = box.left + (np.arange(box.shape[1]) + 0.5) * STEP
        py = box.top + (np.arange(box.shape[0]) + 0.5) * STEP
        order = np.argsort(self.y)
        across = np.array([np.interp(px, self.x, row) for row in self.values[order]])
        return np.array([np.interp(py, self.y[order], column) for column in across.T]).T
