"""A strip of current paths as a grid: at which level each joint lies, and on which track of it.

A level is the gap above or below a row of parts. Cross lines and labels of one level that would
meet lie on tracks of their own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from tripmargin.pictures.current_paths_layout import Path, Rails


@dataclass(slots=True)
class Joint:
    """A node where it is drawn: as a rail, a cross line, or the labelled end of a path."""

    node: str
    kind: str  # "top rail", "bottom rail", "joint", "from" or "to"
    columns: list[int] = field(default_factory=list)
    level: int = 0
    track: int = 0

    @property
    def is_rail(self) -> bool:
        """Whether it runs over the whole strip."""
        return self.kind.endswith("rail")

    @property
    def taken(self) -> tuple[int, int]:
        """Columns that its line and its label take up, from the first to before the last."""
        return self.columns[0], max(self.columns[-1], self.columns[0] + 1)


@dataclass(frozen=True, slots=True)
class Strip:
    """Paths side by side between their rails.

    Attributes
    ----------
    paths : tuple of Path
    joints : tuple of Joint
    at : for each path, the joint of each of its nodes
    levels : int
        Number of levels; there is one row of parts less.
    """

    paths: tuple[Path, ...]
    joints: tuple[Joint, ...]
    at: tuple[tuple[Joint, ...], ...]
    levels: int

    def tracks(self, level: int) -> int:
        """Number of tracks of a level."""
        return 1 + max((joint.track for joint in self.joints if joint.level == level), default=-1)


def strip_of(paths: tuple[Path, ...], rails: Rails) -> Strip:
    """Find level and track of every joint of the paths of a strip."""
    joints: dict[tuple[object, ...], Joint] = {}
    at = []
    for column, path in enumerate(paths):
        row = []
        for key, kind, node in _keys(path, column, rails):
            joint = joints.setdefault(key, Joint(node, kind))
            joint.columns.append(column)
            row.append(joint)
        at.append(tuple(row))
    every = tuple(joints.values())
    levels = _level(every, at)
    for level in range(levels):
        _track([joint for joint in every if joint.level == level], rails, level == levels - 1)
    return Strip(paths, every, tuple(at), levels)


def _keys(path: Path, column: int, rails: Rails) -> Iterator[tuple[tuple[object, ...], str, str]]:
    """What tells joints apart: paths share rails and nodes, but not labelled ends."""
    nodes = path.nodes
    for k, node in enumerate(nodes):
        first, last = k == 0, k == len(nodes) - 1
        if node in rails.top and first:
            yield ("rail", node), "top rail", node
        elif node in rails.bottom and last and not (node == nodes[0] and len(nodes) == 2):
            yield ("rail", node), "bottom rail", node
        elif node in rails.nodes or node in nodes[:k]:
            yield ("end", column, k), "from" if first else "to", node
        else:
            yield ("node", node), "joint", node


def _level(joints: tuple[Joint, ...], at: list[tuple[Joint, ...]]) -> int:
    """Put each joint as high as the parts above it let it, ground rails below all; count levels."""
    moved = True
    while moved:
        moved = False
        for row in at:
            for upper, lower in pairwise(row):
                if lower.level <= upper.level:
                    lower.level = upper.level + 1
                    moved = True
    lowest = max(joint.level for joint in joints)
    for joint in joints:
        if joint.kind == "bottom rail":
            joint.level = lowest
    for row in at:
        if row[0].kind == "from":
            row[0].level = row[1].level - 1
    return lowest + 1


def _track(joints: list[Joint], rails: Rails, at_bottom: bool) -> None:
    """Give rails a track each, on the outer side; others the first track that is free there."""
    order = {node: k for k, node in enumerate((*rails.top, *rails.bottom))}
    lines = sorted((joint for joint in joints if joint.is_rail), key=lambda j: order[j.node])
    others = sorted((joint for joint in joints if not joint.is_rail), key=lambda j: j.taken)
    start = 0 if at_bottom else len(lines)
    ends: list[int] = []
    for joint in others:
        left, right = joint.taken
        free = next((k for k, end in enumerate(ends) if end <= left), len(ends))
        ends[free : free + 1] = [right]
        joint.track = start + free
    for k, joint in enumerate(lines):
        joint.track = k + (len(ends) if at_bottom else 0)
