"""A circuit taken apart into current paths: which parts stand under each other, and where.

Every part is a leg of exactly one path. A path runs from the higher end of the circuit to the lower
and is cut at the rails, so that it hangs between two of them or between the joints of other paths.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from tripmargin.circuit import GROUND, Network, Part, Source

_RAIL_NAME = re.compile(r"(?:15|30|31|50|54|58|61)[a-z]?")  # DIN 72552, from memory
_NAMED_ENDS, _ANY_ENDS = 4, 8  # part ends from which a node is worth a rail
_LEADS = ("resistor", "fuse", "wire", "connector", "ground")
_JOINTS = ("wire", "connector", "ground")
_EASY = (*_JOINTS, "fuse", "contact", "source")  # lead to a load, and drop little
_LAST = ("led", "lamp", "buzzer", "diode", "suppression")  # side branches, rather than the path
_PLACED = 40  # paths of a group that are still ordered for short cross lines


@dataclass(frozen=True, slots=True)
class Leg:
    """A part of a path, and the nodes above and below it."""

    part: Part
    upper: str
    lower: str


@dataclass(frozen=True, slots=True)
class Path:
    """Parts in series from the top down."""

    legs: tuple[Leg, ...]

    @property
    def nodes(self) -> tuple[str, ...]:
        """Nodes from the top down, one more than there are parts."""
        return (self.legs[0].upper, *(leg.lower for leg in self.legs))


@dataclass(frozen=True, slots=True)
class Rails:
    """Nodes that are drawn as rails: supply rails and ground rails, each from the top down."""

    top: tuple[str, ...]
    bottom: tuple[str, ...]

    @property
    def nodes(self) -> frozenset[str]:
        """All of them."""
        return frozenset((*self.top, *self.bottom))


def heights_of(network: Network) -> tuple[dict[str, float], Rails]:
    """How high each node lies, from 1 at the supply to 0 at ground, and the rails.

    The height is the voltage that the node would have with every contact closed and loads all
    alike: it orders any circuit from supply to ground and does not move with the step.
    """
    ends = Counter(node for part in network.parts for node in (part.p, part.n))
    top, bottom = _outer_rails(network, ends)
    nodes = list(network.nodes)
    potential = _potentials(network.parts, nodes, {top: 1.0, bottom: 0.0})
    down, up = _steps_from(network.parts, top), _steps_from(network.parts, bottom)
    # Ends that hang loose lie as high as where they hang: below a supply, above ground.
    height = {
        node: value + 1e-6 * (up[node] if value < 0.5 else -down[node])
        for node, value in potential.items()
    }
    module = network.detector.supply if network.detector else ()
    extra = [
        node
        for node in nodes
        if node not in (top, bottom)
        and (
            ends[node] >= _ANY_ENDS
            or (ends[node] >= _NAMED_ENDS and (node in module or _RAIL_NAME.fullmatch(node)))
        )
    ]
    high = sorted((n for n in extra if height[n] > 0.5), key=lambda n: -height[n])
    low = sorted((n for n in extra if height[n] <= 0.5), key=lambda n: -height[n])
    supply = (top,) if top != bottom else ()
    return height, Rails((*supply, *high), (*low, bottom))


def _outer_rails(network: Network, ends: Mapping[str, int]) -> tuple[str, str]:
    """The supply's rail and the ground rail: where the leads of the battery first branch."""
    source = next((part for part in network.parts if isinstance(part, Source)), None)
    bottom = _along(network.parts, GROUND, source, ends, _JOINTS)
    post = next((node for node in network.nodes if node != GROUND), GROUND)
    if source is not None:
        post = source.n if source.p == GROUND else source.p
    top = _along(network.parts, post, source, ends, _LEADS)
    return (post, GROUND) if top in (bottom, GROUND) or bottom == post else (top, bottom)


def _along(
    parts: Iterable[Part],
    node: str,
    came: Part | None,
    ends: Mapping[str, int],
    kinds: tuple[str, ...],
) -> str:
    """The end of a chain of plain leads from a node, away from the part one comes from.

    A supply that carries its number is the end of it, although nothing branches there.
    """
    parts = tuple(parts)
    seen = {node}
    while ends[node] == 2 and not (kinds is _LEADS and _RAIL_NAME.fullmatch(node)):
        step = [p for p in parts if p is not came and node in (p.p, p.n) and p.kind in kinds]
        if len(step) != 1:
            break
        came = step[0]
        node = came.n if came.p == node else came.p
        if node in seen:
            break
        seen.add(node)
    return node


def _potentials(
    parts: Iterable[Part], nodes: list[str], fixed: Mapping[str, float]
) -> dict[str, float]:
    index = {node: k for k, node in enumerate(nodes)}
    grid, right = np.zeros((len(nodes), len(nodes))), np.zeros(len(nodes))
    for part in parts:
        i, j = index[part.p], index[part.n]
        if i != j:
            eases = 1e4 if part.kind in _EASY else 1.0
            grid[[i, j], [i, j]] += eases
            grid[[i, j], [j, i]] -= eases
    for node, value in fixed.items():
        grid[index[node]] = 0.0
        grid[index[node], index[node]] = 1.0
        right[index[node]] = value
    found = np.linalg.lstsq(grid, right, rcond=None)[0]
    return {node: round(float(found[k]), 9) for node, k in index.items()}


def _steps_from(parts: Iterable[Part], start: str) -> dict[str, int]:
    beside: dict[str, list[str]] = {}
    for part in parts:
        beside.setdefault(part.p, []).append(part.n)
        beside.setdefault(part.n, []).append(part.p)
    steps, rim = {start: 0}, [start]
    for node in rim:  # grows as it is walked
        for other in beside.get(node, ()):
            if other not in steps:
                steps[other] = steps[node] + 1
                rim.append(other)
    return steps


def groups_of(
    network: Network, height: Mapping[str, float], rails: Rails
) -> list[tuple[Path, ...]]:
    """Paths in groups that hang together apart from the rails, in the order of the parts."""
    rank = {node: k for k, node in enumerate(sorted(network.nodes, key=lambda n: -height[n]))}
    legs = []
    for part in network.parts:
        upper, lower = sorted((part.p, part.n), key=rank.__getitem__)
        legs.append(Leg(part, upper, lower))
    groups = _together(legs, rails)
    place = {part.name: k for k, part in enumerate(network.parts)}
    groups.sort(key=lambda group: _place_of(group, network.parts, place))
    return [_ordered(_paths(group, rails), rails) for group in groups]


def _place_of(group: list[Leg], parts: Iterable[Part], place: Mapping[str, int]) -> tuple[int, int]:
    """Where a group comes: by its first part; a lone part of a device where that is connected."""
    first = place[group[0].part.name]
    device, dot, _ = group[0].part.name.partition(".")
    if len(group) > 1 or not dot:
        return first, first
    beside = (p for p in parts if any(n.startswith(f"{device}.") for n in (p.p, p.n)))
    return place[next(beside, group[0].part).name], first


def _together(legs: list[Leg], rails: Rails) -> list[list[Leg]]:
    up: dict[str, str] = {}

    def find(node: str) -> str:
        while up.setdefault(node, node) != node:
            node = up[node]
        return node

    for leg in legs:
        inner = [node for node in (leg.upper, leg.lower) if node not in rails.nodes]
        if len(inner) == 2:
            up[find(inner[0])] = find(inner[1])
    groups: dict[str, list[Leg]] = {}
    for leg in legs:
        inner = [node for node in (leg.upper, leg.lower) if node not in rails.nodes]
        key = f"node {find(inner[0])}" if inner else f"part {leg.part.name}"
        groups.setdefault(key, []).append(leg)
    return list(groups.values())


def _paths(legs: list[Leg], rails: Rails) -> list[Path]:
    """Paths through the legs of a group, each leg in one of them."""
    left = list(legs)
    paths = []
    while left:
        fed = {leg.lower for leg in left if leg.lower != leg.upper} - rails.nodes
        heads = [leg for leg in left if leg.upper not in fed] or left
        way = [min(heads, key=lambda leg: (leg.part.kind in _LAST, left.index(leg)))]
        left.remove(way[0])
        while way[-1].lower not in rails.nodes and way[-1].lower != way[-1].upper:
            on = [leg for leg in left if leg.upper == way[-1].lower and leg.lower != leg.upper]
            if not on:
                break
            way.append(min(on, key=lambda leg: (leg.part.kind in _LAST, left.index(leg))))
            left.remove(way[-1])
        paths.append(Path(tuple(way)))
    return paths


def _ordered(paths: list[Path], rails: Rails) -> tuple[Path, ...]:
    """The same paths, each put where the cross lines between them stay short."""
    row: list[Path] = []
    for path in paths:
        spots = range(len(row), -1, -1) if len(paths) <= _PLACED else (len(row),)
        row = min(([*row[:k], path, *row[k:]] for k in spots), key=lambda r: _span(r, rails))
    return tuple(row)


def _span(row: list[Path], rails: Rails) -> int:
    first: dict[str, int] = {}
    last: dict[str, int] = {}
    for k, path in enumerate(row):
        for node in path.nodes:
            if node not in rails.nodes:
                first.setdefault(node, k)
                last[node] = k
    return sum(last[node] - first[node] for node in first)


def strips_of(groups: Iterable[tuple[Path, ...]], columns: int) -> list[tuple[Path, ...]]:
    """Paths in strips of at most so many columns.

    A group stays whole where one strip holds it; a larger one goes on in the strips that follow.
    """
    strips: list[list[Path]] = []
    for group in groups:
        room = [strip for strip in strips if len(strip) + len(group) <= columns]
        if room:
            room[0].extend(group)
        else:
            strips += [list(group[k : k + columns]) for k in range(0, len(group), columns)]
    return [tuple(strip) for strip in strips]
