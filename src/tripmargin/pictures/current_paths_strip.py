"""One strip of current paths on its sheet: rails, cross lines, symbols, and their small print."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from tripmargin.circuit import State
from tripmargin.circuit.parts import original
from tripmargin.ground.languages import say, say_many
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.circuit_symbols import (
    HALF,
    WEIGHTS,
    Standing,
    arrow_head,
    colour_of,
    draw_symbol,
    hatched_ring,
)
from tripmargin.pictures.current_paths_grid import Joint, Strip
from tripmargin.pictures.current_paths_layout import Leg
from tripmargin.pictures.current_paths_words import (
    LIVE_AMPS,
    VOLTAGE,
    amps,
    flow_of,
    shown_words,
    terminal_of,
    volts,
)
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width, wrapped

LETTERS = 11.0  # px
LINE = 12.5  # px, from one line of small print to the next
LEFT, RIGHT = 26.0, 20.0  # px, room beside a lead: terminals left of it, small print right of it
NARROWEST_PITCH = 116.0  # px, from one path to the next
_MARKS = ("dead", "under voltage", "live")


@dataclass(frozen=True, slots=True)
class Scene:
    """The circuit at a step, and where else on the picture each node comes up.

    Attributes
    ----------
    state : State
    standings : mapping of part to Standing
    node_paths : mapping of node to numbers of the paths that it lies on
    node_ends : mapping of node to number of part ends at it
    live_nodes : frozenset of str
        Nodes that a part which carries current touches.
    differing : frozenset of str
        Parts to ring.
    """

    state: State
    standings: Mapping[str, Standing]
    node_paths: Mapping[str, Sequence[int]]
    node_ends: Mapping[str, int]
    live_nodes: frozenset[str]
    differing: frozenset[str]


class StripPicture:
    """A strip being drawn; `first` is the number of its first path."""

    def __init__(self, sheet: Sheet, strip: Strip, scene: Scene, first: int, pitch: float) -> None:
        self.sheet, self.strip, self.scene, self.first = sheet, strip, scene, first
        self.canvas, self.pitch = sheet.canvas, pitch
        self.numbers = range(first, first + len(strip.paths))
        self.labels = {id(joint): self._label(joint) for joint in strip.joints}
        self.y_of: dict[int, float] = {}
        self.rows: list[float] = []
        self._measure()

    def x(self, column: int) -> float:
        """Where a path runs, px."""
        return self.sheet.type.edge + LEFT + column * self.pitch

    def draw(self) -> None:
        """Everything, lines first, so that words stand on top."""
        lines = [*self._rails_and_cross_lines(), *self._leads()]
        for mark in _MARKS:
            for x1, y1, x2, y2, weight in (ln[1:] for ln in lines if ln[0] == mark):
                style = {"stroke": colour_of(mark, self.canvas), "stroke_width": weight}
                self.canvas.line(x1, y1, x2, y2, **style)
        for column, path in enumerate(self.strip.paths):
            for k, leg in enumerate(path.legs):
                self._part(leg, column, self.strip.at[column][k].level, k)
        for joint in self.strip.joints:
            self._joint(joint)
        base = self.bottom - 4
        for column, number in enumerate(self.numbers):
            style = {"text_anchor": "middle", "font_weight": "bold"}
            self.canvas.text(self.x(column), base, str(number), self.sheet.type.small, **style)
        self.sheet.y = self.bottom

    # Where things go

    def _measure(self) -> None:
        """Heights of tracks and rows, from the top down."""
        y = self.sheet.y
        for level in range(self.strip.levels):
            here = [joint for joint in self.strip.joints if joint.level == level]
            for track in range(self.strip.tracks(level)):
                on = [joint for joint in here if joint.track == track]
                rail = any(joint.is_rail for joint in on)
                y += max(len(self.labels[id(joint)]) for joint in on) * LINE + (8 if rail else 5)
                for joint in on:
                    self.y_of[id(joint)] = y
            if level < self.strip.levels - 1:
                tall = self._row_height(level)
                self.rows.append(y + 6 + tall / 2)
                y += tall + 8
        self.bottom = y + self.sheet.type.small + 12

    def _row_height(self, level: int) -> float:
        tall = 0.0
        for column, path in enumerate(self.strip.paths):
            for k, leg in enumerate(path.legs):
                if self.strip.at[column][k].level == level:
                    numbers = any(terminal_of(leg.part, node) for node in (leg.upper, leg.lower))
                    least = 54.0 if numbers else 40.0 if self._starts(leg, k) else 32.0
                    tall = max(tall, len(self._lines(leg, k)) * LINE, least)
        return tall

    # What is written

    def _label(self, joint: Joint) -> list[str]:
        """Lines at a node: its name and voltage, and where else it is drawn."""
        name = joint.node
        if joint.kind == "from":
            name = say("from {node}", node=joint.node)
        elif joint.kind == "to":
            name = say("to {node}", node=joint.node)
        pieces = [name, volts(self.scene.state.voltages[joint.node])]
        if joint.kind == "joint":
            away = [n for n in self.scene.node_paths[joint.node] if n not in self.numbers]
            if away:
                paths = ", ".join(map(str, away))
                pieces.append(
                    say_many("also path {paths}", "also paths {paths}", len(away), paths=paths)
                )
        column = 0 if joint.is_rail else joint.columns[0]
        room = self.sheet.width - self.sheet.type.edge - self.x(column)
        return stacked(pieces, min(self.pitch - 14, room - 7), bold=joint.is_rail)

    def _lines(self, leg: Leg, k: int) -> list[str]:
        """Lines beside a part: its name, how it stands, and the current where a new one starts."""
        standing = self.scene.standings[leg.part.name]
        wide = self.pitch - LEFT - RIGHT
        pieces = [] if standing.shows in ("", "whole") else [shown_words(standing.shows)]
        if self._starts(leg, k):
            pieces.append(amps(self.scene.state.currents[leg.part.name]))
        return [*named(as_written(leg.part.name), wide), *stacked(pieces, wide, ", ")]

    def _starts(self, leg: Leg, k: int) -> bool:
        return k == 0 or self.scene.node_ends[leg.upper] != 2

    # Lines

    def _node_mark(self, node: str, live: bool) -> str:
        if live:
            return "live"
        return "under voltage" if abs(self.scene.state.voltages[node]) > VOLTAGE else "dead"

    def _rails_and_cross_lines(self) -> list[tuple[str, float, float, float, float, float]]:
        lines = []
        for joint in self.strip.joints:
            y = self.y_of[id(joint)]
            if joint.is_rail:
                mark = self._node_mark(joint.node, joint.node in self.scene.live_nodes)
                right = self.x(len(self.strip.paths) - 1) + self.pitch - LEFT
                weight = WEIGHTS[mark] + 1
                lines.append((mark, self.sheet.type.edge, y, right, y, weight))
                continue
            # Kirchhoff: a stretch carries what the columns right of it bring. What other strips
            # bring counts as coming in at the label, which stands on the left.
            flows = self._inflows(joint)
            for k, (a, b) in enumerate(pairwise(joint.columns), start=1):
                mark = self._node_mark(joint.node, abs(sum(flows[k:])) >= LIVE_AMPS)
                lines.append((mark, self.x(a), y, self.x(b), y, WEIGHTS[mark]))
        return lines

    def _inflows(self, joint: Joint) -> list[float]:
        """Current that each column brings to a joint, A."""
        found = []
        for column in joint.columns:
            legs, at = self.strip.paths[column].legs, self.strip.at[column]
            total = 0.0
            for k, leg in enumerate(legs):
                down = self._down(leg)
                total += down * (at[k + 1] is joint) - down * (at[k] is joint)
            found.append(total)
        return found

    def _down(self, leg: Leg) -> float:
        flow = flow_of(leg.part, self.scene.state)
        return flow if leg.part.p == leg.upper else -flow

    def _leads(self) -> list[tuple[str, float, float, float, float, float]]:
        lines = []
        for column, path in enumerate(self.strip.paths):
            for k, leg in enumerate(path.legs):
                upper, lower = self.strip.at[column][k : k + 2]
                x, y = self.x(column), self.rows[upper.level]
                part_mark = self.scene.standings[leg.part.name].mark
                for node, end, lead in (
                    (leg.upper, self.y_of[id(upper)], y - HALF),
                    (leg.lower, self.y_of[id(lower)], y + HALF),
                ):
                    mark = self._node_mark(node, part_mark == "live")
                    lines.append((mark, x, end, x, lead, WEIGHTS[mark]))
        return lines

    # Parts and joints

    def _part(self, leg: Leg, column: int, row: int, k: int) -> None:
        x, y, small = self.x(column), self.rows[row], LETTERS
        standing = self.scene.standings[leg.part.name]
        draw_symbol(self.canvas, x, y, standing)
        if leg.part.name in self.scene.differing:
            hatched_ring(self.canvas, x, y)
        if standing.mark == "live" and self._starts(leg, k):
            arrow_head(self.canvas, x, y - HALF - 5, self._down(leg) > 0)
        soft = standing.mark == "dead"
        lines = self._lines(leg, k)
        names = len(named(as_written(leg.part.name), self.pitch - LEFT - RIGHT))
        top = y - len(lines) * LINE / 2 + 9.2
        for n, line in enumerate(lines):
            style = {"font_weight": "bold"} if n < names else {}
            colour = self.sheet.look.soft if soft else self.sheet.look.ink
            self.canvas.text(x + RIGHT, top + n * LINE, line, small, fill=colour, **style)
        for node, base in ((leg.upper, y - HALF - 5), (leg.lower, y + HALF + 13)):
            number = terminal_of(original(leg.part), node)
            if number:
                self.canvas.text(x - 6, base, number, small, text_anchor="end")

    def _joint(self, joint: Joint) -> None:
        x, y = self.x(0 if joint.is_rail else joint.columns[0]), self.y_of[id(joint)]
        look, lines = self.sheet.look, self.labels[id(joint)]
        if joint.is_rail or len(joint.columns) > 1:
            for column in dict.fromkeys(joint.columns):
                self.canvas.element("circle", cx=self.x(column), cy=y, r=3.6, fill=look.ink)
        elif joint.kind != "joint" or len(self.scene.node_paths[joint.node]) > 1:
            style: dict[str, Any] = {"fill": look.paper, "stroke": look.ink, "stroke_width": 1.6}
            self.canvas.element("circle", cx=x, cy=y, r=3.6, **style)
        else:
            self.canvas.line(x, y, x + 5, y, stroke=look.soft, stroke_width=1)
        bold = {"font_weight": "bold"} if joint.is_rail else {}
        for n, line in enumerate(lines):
            base = y - (5.5 if joint.is_rail else 3.5) - (len(lines) - 1 - n) * LINE
            self.canvas.text(x + 7, base, line, LETTERS, fill=look.ink, **bold)


def named(name: str, width: float) -> list[str]:
    """A part's name in bold lines that fit, broken after a dot where that is enough.

    >>> named("K1.coil", 80), named("VR.suppression", 80)
    (['K1.coil'], ['VR.', 'suppression'])
    """
    return stacked(re.split(r"(?<=[._])(?=.)", name), width - 3, "", bold=True)


def stacked(pieces: Sequence[str], width: float, joint: str = " ", bold: bool = False) -> list[str]:
    """Pieces of text in as few lines as hold them; a piece is broken only where it must be.

    >>> stacked(["K1.86", "13.92 V"], 80), stacked(["K1.86", "13.92 V"], 50)
    (['K1.86 13.92 V'], ['K1.86', '13.92 V'])
    """
    lines: list[str] = []
    for piece in pieces:
        longer = f"{lines[-1]}{joint}{piece}" if lines else piece
        wide = text_width(piece, LETTERS, bold) > width
        if lines and text_width(longer, LETTERS, bold) <= width:
            lines[-1] = longer
        else:
            lines += wrapped(piece, LETTERS, width, bold) if wide else [piece]
    return lines
