"""Blind stretches that belong together, and where they are in words."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.ground.languages import say
from tripmargin.pictures.data import BlindLike
from tripmargin.pictures.words import length, said

LINE = 1e-6  # m; a stretch no wider than this has no width worth saying


def clusters_of(blind: Sequence[BlindLike]) -> list[list[BlindLike]]:
    """Blind stretches of one kind that overlap across the roll, together."""
    clusters: list[list[BlindLike]] = []
    for spot in blind:
        for cluster in clusters:
            low, high = min(s.x_low for s in cluster), max(s.x_high for s in cluster)
            if cluster[0].kind == spot.kind and spot.x_low <= high and spot.x_high >= low:
                cluster.append(spot)
                break
        else:
            clusters.append([spot])
    return clusters


def where(spots: Sequence[BlindLike], us: bool) -> str:
    """Kind, width and place of one cluster of blind stretches."""
    low, high = min(s.x_low for s in spots), max(s.x_high for s in spots)
    middle = (low + high) / 2
    heights = {spot.height for spot in spots}
    kind = said(spots[0].kind)
    width = length(high - low, us)
    if high - low < LINE:
        first = say("{kind} on a line", kind=kind)
    elif len(heights) > 1:
        first = say("{kind}, up to {width} wide", kind=kind, width=width)
    else:
        first = say("{kind}, {width} wide", kind=kind, width=width)
    told = [first, _across(middle, (high - low) / 4 + 1e-6, us)]
    if len(heights) == 1:
        told.append(say("{height} above the roll", height=length(heights.pop(), us)))
    return ", ".join(told)


def _across(middle: float, near: float, us: bool) -> str:
    """Where the middle of a stretch lies across the roll."""
    if abs(middle) < near:
        return say("in the middle")
    distance = length(abs(middle), us)
    if middle > 0:
        return say("{distance} right of the middle", distance=distance)
    return say("{distance} left of the middle", distance=distance)
