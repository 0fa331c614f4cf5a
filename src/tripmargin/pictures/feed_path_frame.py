"""The scale of the feed path's side view: metres along the path and above the axis, to pixels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tripmargin.ground.languages import say
from tripmargin.pictures.boxes import Box
from tripmargin.pictures.course import runs
from tripmargin.pictures.data import RaceLike
from tripmargin.pictures.feed_path_parts import FeedPath
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width

_CUTTERHEAD = 86.0  # px kept right of the shear bar, so that the cutterhead's name fits; or more
_UPPER = 0.62  # of the roll's radius: how much of the upper roll is in view


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the side view lies on the page, and its scale.

    Attributes
    ----------
    box : Box, px
    scale : float, px/m
        The same along and up.
    left : float, m
        Place along the path at the box's left edge.
    top : float, m
        Height above the roll's axis at the box's upper edge.
    """

    box: Box
    scale: float
    left: float
    top: float

    def x(self, place: float) -> float:
        """Pixel of a place along the path, m."""
        return self.box.left + (place - self.left) * self.scale

    def y(self, height: float) -> float:
        """Pixel of a height above the lower roll's axis, m."""
        return self.box.top + (self.top - height) * self.scale

    def place(self, x: float) -> float:
        """Place along the path, m, at a pixel."""
        return self.left + (x - self.box.left) / self.scale


def frame_for(sheet: Sheet, path: FeedPath, race: RaceLike | None) -> Frame:
    """The largest scale at which all that matters is in view, from the sheet's `y` down."""
    radius, bar, crop = path.drawn_radius, path.drawn_bar, path.drawn_crop
    left, right = -1.75 * radius, bar[0] + 0.95 * radius
    if race is not None and runs(race):
        left = min(left, float(race.position[0]) - 0.5 * radius)
        last = max(float(race.position[-1]), float(race.position_high[-1]))
        right = max(right, min(last + 0.25 * radius, bar[0] + 2.2 * radius))
    name = text_width(say("cutterhead"), sheet.type.small)
    room = max(_CUTTERHEAD, name * 1.06 + 14)
    scales: Sequence[float] = (
        sheet.inner / (right - left),
        (sheet.inner - room) / (bar[0] - left),
    )
    scale = min(scales)
    top, bottom = radius + crop + _UPPER * radius, -radius * 1.04
    edge, y = sheet.type.edge, sheet.y
    box = Box(edge, y, sheet.width - edge, y + (top - bottom) * scale)
    return Frame(box, scale, left, top)
