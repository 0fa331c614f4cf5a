"""Which ball, rod or plate stands for a bolt, a nut, a ring, a link.

A piece with holes or gaps is the solid of the same proportions and the same steel, as a rod or a
plate is the ellipsoid of the same proportions and the same volume. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeAlias

__all__ = ["FORMS", "Equivalent", "bolt", "hexagon_with_hole", "outline", "ring", "round_link"]

Equivalent: TypeAlias = tuple[str, tuple[float, ...], str]  # kind, dimensions (m), how in words

_HEXAGON = math.sqrt(3.0) / 2.0  # area of a hexagon over its width across flats squared
_PITCH_DIAMETER = 0.649519  # d2 = d - 0.649519 P, ISO 724


def bolt(d: float, pitch: float, s: float, k: float, length: float) -> Equivalent:
    """A hexagon bolt: a rod as long as shank and head, as thick as its steel asks for.

    Its whole shank is taken at the pitch diameter, so a partly threaded bolt reads a little low.

    Examples
    --------
    >>> kind, (diameter, length), words = bolt(0.008, 0.00125, 0.013, 0.0053, 0.030)
    >>> kind, round(diameter * 1e3, 2), round(length * 1e3, 2)
    ('rod', 8.48, 35.3)
    """
    shank = math.pi / 4.0 * (d - _PITCH_DIAMETER * pitch) ** 2 * length
    steel = shank + _HEXAGON * s**2 * k
    total = length + k
    diameter = math.sqrt(4.0 * steel / (math.pi * total))
    return "rod", (diameter, total), "rod as long as shank and head, same steel"


def hexagon_with_hole(s: float, height: float, hole: float) -> Equivalent:
    """A nut: a disc in the proportions of one with the area of its hexagon, less the hole."""
    return ring(2.0 * s * math.sqrt(_HEXAGON / math.pi), hole, height)


def ring(outer: float, inner: float, height: float) -> Equivalent:
    """A washer: a disc of its proportions, smaller by the hole.

    Examples
    --------
    >>> kind, (diameter, thickness), words = ring(0.024, 0.013, 0.0025)
    >>> kind, round(diameter * 1e3, 2), round(thickness * 1e3, 2)
    ('rod', 21.38, 2.23)
    """
    shrink = (1.0 - (inner / outer) ** 2) ** (1 / 3)
    return "rod", (shrink * outer, shrink * height), "disc of its proportions, same steel"


def round_link(wire: float, pitch: float, width: float) -> Equivalent:
    """A link of round-link chain: a plate of its proportions with the steel of its bent wire."""
    bends = math.pi * (width - wire)
    straights = 2.0 * (pitch - width + 2.0 * wire)
    steel = math.pi / 4.0 * wire**2 * (bends + straights)
    return outline(pitch + 2.0 * wire, width, wire, steel)


def outline(length: float, width: float, height: float, volume: float) -> Equivalent:
    """Anything bent or open: a plate in the proportions of its outline with its metal (m^3)."""
    shrink = (volume / (length * width * height)) ** (1 / 3)
    sides = (shrink * length, shrink * width, shrink * height)
    return "plate", sides, "plate of its proportions, same metal"


def _ball(diameter: float) -> Equivalent:
    return "ball", (diameter,), "ball"


def _rod(diameter: float, length: float) -> Equivalent:
    return "rod", (diameter, length), "rod"


def _plate(length: float, width: float, thickness: float) -> Equivalent:
    return "plate", (length, width, thickness), "plate"


FORMS: dict[str, Callable[..., Equivalent]] = {
    "ball": _ball,
    "rod": _rod,
    "plate": _plate,
    "bolt": bolt,
    "hexagon_with_hole": hexagon_with_hole,
    "ring": ring,
    "round_link": round_link,
    "outline": outline,
}
