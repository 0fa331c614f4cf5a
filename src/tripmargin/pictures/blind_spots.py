"""Blind stretches that belong together, and where they are in words."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.pictures.data import BlindLike
from tripmargin.pictures.words import length

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
    side = f"{length(abs(middle), us)} {'right' if middle > 0 else 'left'} of the middle"
    place = "in the middle" if abs(middle) < (high - low) / 4 + 1e-6 else side
    heights = {spot.height for spot in spots}
    wide = f", {'up to ' if len(heights) > 1 else ''}{length(high - low, us)} wide"
    if high - low < LINE:
        wide = " on a line"
    at = "" if len(heights) > 1 else f", {length(heights.pop(), us)} above the roll"
    return f"{spots[0].kind}{wide}, {place}{at}"
