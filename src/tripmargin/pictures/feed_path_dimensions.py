"""The dimensions above the side view: way to the shear bar, way during the stop, margin."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from tripmargin.ground.languages import say
from tripmargin.pictures.course import runs
from tripmargin.pictures.feed_path_frame import Frame
from tripmargin.pictures.feed_path_motion import rests_at
from tripmargin.pictures.feed_path_parts import FeedPath, FeedRaceLike
from tripmargin.pictures.feed_path_view import arrow_head
from tripmargin.pictures.margins import margin_words
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width
from tripmargin.pictures.words import in_ms, length


@dataclass(frozen=True, slots=True)
class Dimension:
    """A length between two places along the path, m, and what is written on it.

    One without an end runs on to the right edge. `short` is written where `text` has no room.
    """

    name: str
    start: float
    end: float
    text: str
    short: str = ""
    bold: bool = False


def dimensions_of(path: FeedPath, race: FeedRaceLike | None, us: bool) -> list[Dimension]:
    """From the uppermost row down; what is not known has none."""
    rows = []
    bar = path.bar
    if bar is not None:
        way = length(bar[0], us)
        rows.append(
            Dimension(
                "to bar",
                0.0,
                bar[0],
                say("sensor's axis to shear bar {way}", way=way),
                say("to bar {way}", way=way),
            )
        )
    if race is None or not runs(race) or race.margin is None or bar is None:
        return rows
    start, margin = float(race.position[0]), race.margin.nominal
    if not isfinite(margin):
        return [
            *rows,
            Dimension(
                "runs on", start, float("inf"), say("the feed runs on: no margin"), bold=True
            ),
        ]
    stands = float(race.position[-1])
    way = length(stands - start, us)
    moves = say("moves {way}", way=way)
    while_stopping = say("moves {way} in {time}", way=way, time=in_ms(rests_at(race)))
    text = margin_words(margin, race.notes, us)
    rows.append(Dimension("way", start, stands, while_stopping, moves))
    near, far = sorted((stands, bar[0]))
    return [*rows, Dimension("margin", near, far, text, bold=True)]


def row_height(sheet: Sheet) -> float:
    """Of one dimension, px."""
    return sheet.type.body + 9


def draw_dimensions(sheet: Sheet, frame: Frame, rows: list[Dimension], foot: float) -> None:
    """Rows of dimensions above the frame, with lines down to a level of the side view, px."""
    step = row_height(sheet)
    top = frame.box.top - step * len(rows)
    for k, row in enumerate(rows):
        y = top + (k + 0.5) * step
        for place in (row.start, row.end):
            x = frame.x(place) if isfinite(place) else float("inf")
            if x <= frame.box.right:
                style = {"stroke_width": 1, "stroke_dasharray": "1 3"}
                sheet.canvas.line(x, y, x, foot, stroke=sheet.look.ink, **style)
    for k, row in enumerate(rows):
        _row(sheet, frame, row, top + (k + 0.5) * step)


def _row(sheet: Sheet, frame: Frame, row: Dimension, y: float) -> None:
    canvas, right = sheet.canvas, frame.box.right
    one = frame.x(row.start)
    two = min(frame.x(row.end), right) if isfinite(row.end) else right
    runs_out = not isfinite(row.end) or frame.x(row.end) > right
    thick = 2.0 if row.bold else 1.2
    canvas.line(one, y, two, y, stroke_width=thick, data_part=f"dimension {row.name}")
    head = min(7.0, (two - one) / 2.5)
    arrow_head(canvas, two, y, 10.0 if runs_out else head, sheet.look.ink)
    arrow_head(canvas, one, y, -head, sheet.look.ink)
    size = sheet.type.body if row.bold else sheet.type.small
    text, middle, wide = _placed(row, size, (frame.box.left, one, two, right))
    canvas.rect(middle - wide / 2, y - size * 0.62, wide, size * 1.24, fill=sheet.look.paper)
    weight = {"font_weight": "bold"} if row.bold else {}
    canvas.text(middle, y + size * 0.36, text, size, text_anchor="middle", **weight)


def _placed(
    row: Dimension, size: float, at: tuple[float, float, float, float]
) -> tuple[str, float, float]:
    """Words of a dimension, their middle and width, px: on its line, else left or right of it."""
    edge, one, two, right = at
    texts = [text for text in (row.text, row.short) if text]
    wides = [text_width(text, size, row.bold) * 1.06 + 8 for text in texts]
    rooms = {"on": two - one - 22, "left": one - edge - 4, "right": right - two - 4}
    for where, room in rooms.items():
        for text, wide in zip(texts, wides, strict=True):
            if wide <= room:
                beside = {"left": one - wide / 2 - 3, "right": two + wide / 2 + 3}
                return text, beside.get(where, (one + two) / 2), wide
    half = wides[-1] / 2
    return texts[-1], min(max((one + two) / 2, edge + half), right - half), wides[-1]
