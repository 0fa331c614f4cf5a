"""The ways that a piece may lie of which nobody said how, each by its words."""

from __future__ import annotations

import numpy as np

from tripmargin.ground.languages import later
from tripmargin.sensing.pieces import Piece

_AS_GIVEN = later("as it was said to lie")
_AS_BALL = later("as a ball does")
_ROD = (
    (later("across"), (1, 0, 0)),
    (later("along"), (0, 1, 0)),
    (later("upright"), (0, 0, 1)),
    (later("between across and along"), (1, 1, 0)),
    (later("between across and along"), (1, -1, 0)),
    (later("between across and upright"), (1, 0, 1)),
    (later("between across and upright"), (1, 0, -1)),
    (later("between along and upright"), (0, 1, 1)),
    (later("between along and upright"), (0, 1, -1)),
    (later("leaning every way"), (1, 1, 1)),
    (later("leaning every way"), (1, 1, -1)),
    (later("leaning every way"), (1, -1, 1)),
    (later("leaning every way"), (1, -1, -1)),
)
_PLATE = (
    (later("flat, its length across"), "x", "z"),
    (later("flat, its length along"), "y", "z"),
    (later("on edge, its length across"), "x", "y"),
    (later("on edge, its length along"), "y", "x"),
    (later("on end, its face to the crop"), "z", "y"),
    (later("on end, its edge to the crop"), "z", "x"),
)


def ways_to_lie(piece: Piece) -> tuple[tuple[str, Piece], ...]:
    """A piece in every way that is computed, each with its words, marked for the catalogues.

    A rod in thirteen directions: three axes and all that lie halfway between. A plate in six: flat,
    on edge and on end. A ball, and a piece of which someone said how it lies, in one.

    Examples
    --------
    >>> [words for words, _ in ways_to_lie(Piece.from_text("M8x30 bolt"))][:3]
    ['across', 'along', 'upright']
    """
    if piece.attitude_given or piece.kind in ("ball", "ellipsoid"):
        return ((_AS_GIVEN if piece.attitude_given else _AS_BALL, piece),)
    if piece.kind == "plate":
        return tuple((words, piece.turned(axis, normal)) for words, axis, normal in _PLATE)
    return tuple((words, piece.turned(axis)) for words, axis in _ROD)


def half_height(piece: Piece) -> float:
    """How far a piece reaches below its middle as it lies, m.

    Examples
    --------
    >>> bolt = Piece.from_text("10 mm x 60 mm rod")
    >>> [round(half_height(bolt.turned(axis)), 4) for axis in ("across", "upright")]
    [0.005, 0.03]
    """
    up = np.abs(piece.orientation[2])
    if piece.kind == "ball":
        return piece.dimensions[0] / 2
    if piece.kind == "rod":
        diameter, long = piece.dimensions
        return float(long * up[0] + diameter * np.sqrt(max(1.0 - up[0] ** 2, 0.0))) / 2
    return float(np.asarray(piece.dimensions) @ up) / 2
