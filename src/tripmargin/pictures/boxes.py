"""Rectangles on the page, and where in a region a label fits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

STEP = 4.0  # px, grain of the mask that labels are placed on

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the page, px."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of a mask over it."""
        rows, columns = (self.bottom - self.top) / STEP, (self.right - self.left) / STEP
        return max(int(rows), 1), max(int(columns), 1)

    def holds(self, inner: Box) -> bool:
        """Whether another box lies wholly inside."""
        return (
            inner.left >= self.left
            and inner.right <= self.right
            and inner.top >= self.top
            and inner.bottom <= self.bottom
        )

    def touches(self, other: Box) -> bool:
        """Whether two boxes share a point."""
        return not (
            self.right < other.left
            or self.left > other.right
            or self.bottom < other.top
            or self.top > other.bottom
        )

    def blank(self, mask: Mask, inner: Box) -> None:
        """Mark a smaller rectangle as taken, so that no label is put there."""
        rows = slice(*_cells(inner.top - self.top, inner.bottom - self.top))
        columns = slice(*_cells(inner.left - self.left, inner.right - self.left))
        mask[rows, columns] = False

    def place(self, mask: Mask, width: float, height: float) -> tuple[float, float] | None:
        """Centre of the roomiest spot of a mask where a label fits, or None.

        Tries generous room around the label first, then less; among equals the spot nearest to
        the middle of the region wins, so that a label does not cling to an edge.
        """
        if not mask.any():
            return None
        middle = np.argwhere(mask).mean(axis=0)
        for room in (40.0, 24.0, 14.0, 8.0, 4.0, 0.0):
            rows, columns = (
                int(np.ceil((height + room) / STEP)),
                int(np.ceil((width + room) / STEP)),
            )
            if rows > mask.shape[0] or columns > mask.shape[1]:
                continue
            spots = np.argwhere(_window_sums(mask, rows, columns) == rows * columns)
            if len(spots):
                centres = spots + np.array([rows, columns]) / 2
                best = centres[np.argmin(((centres - middle) ** 2).sum(axis=1))]
                return self.left + best[1] * STEP, self.top + best[0] * STEP
        return None


def around(x: float, y: float, size: tuple[float, float], room: float = 2.0) -> Box:
    """The box of a label centred on a point."""
    half_width, half_height = size[0] / 2 + room, size[1] / 2 + room
    return Box(x - half_width, y - half_height, x + half_width, y + half_height)


def _cells(low: float, high: float) -> tuple[int, int]:
    return max(int(np.floor(low / STEP)), 0), max(int(np.ceil(high / STEP)), 0)


def _window_sums(mask: Mask, rows: int, columns: int) -> NDArray[np.int64]:
    """Number of true cells in each window, from a summed-area table."""
    table = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1), dtype=np.int64)
    table[1:, 1:] = mask.cumsum(axis=0).cumsum(axis=1)
    return np.asarray(
        table[rows:, columns:]
        - table[:-rows, columns:]
        - table[rows:, :-columns]
        + table[:-rows, :-columns]
    )
