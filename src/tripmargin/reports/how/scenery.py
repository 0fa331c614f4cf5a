"""What stands in the side view: sizes from the machine file, and the magnets' flux lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.machine import Machine
from tripmargin.pictures.feed_path_parts import Block, drawn_teeth, feed_path_of
from tripmargin.reports.how.curves import few
from tripmargin.reports.how.runs import Place
from tripmargin.sensing import sensor_fields

Array = NDArray[np.float64]
_STEP, _STEPS = 0.003, 110  # m along a line, and the most of them
_LINES = 15


def scenery_of(machine: Machine, place: Place | None) -> dict[str, Any]:
    """Sizes of the feed path, m, and flux lines as [y..., z...]; JSON-ready."""
    path = feed_path_of(machine)
    ball = place.piece if place is not None and place.piece.kind == "ball" else None
    level = path.middle if path.middle is not None else path.drawn_crop / 2
    under = place is None or over_magnet(machine, place.x)
    return {
        "radius": path.drawn_radius,
        "radius_known": path.radius is not None,
        "crop": path.drawn_crop,
        "crop_known": path.crop is not None,
        "bar": list(path.drawn_bar),
        "level": level if place is None else place.height,
        "ball": None if ball is None else ball.dimensions[0],
        "rotation": path.rotation,
        "blocks": [
            {"kind": b.kind, "y": b.y, "z": b.z, "wide": b.width, "high": b.height}
            for b in path.blocks
        ],
        "pawls": [
            {
                "name": pawl.name,
                "teeth": drawn_teeth(pawl),
                "known": pawl.teeth == drawn_teeth(pawl),
                "ratio": pawl.ratio or 1.0,
                "clearance": pawl.clearance,
            }
            for pawl in path.pawls
        ],
        "under": under,
        "flux": flux_lines(machine, place.x) if under and place is not None else [],
    }


def over_magnet(machine: Machine, x: float) -> bool:
    """Whether a magnet lies under a place across the roll, m from its middle.

    Beside the magnets their flux runs along the roll too, and a section shows little of it.
    """
    assemblies = machine.sensor.assemblies if machine.sensor is not None else ()
    return any(
        abs(x - one.centre[0].nominal) <= one.magnet.size[0].nominal / 2
        for one in assemblies
        if one.magnet is not None
    )


def flux_lines(machine: Machine, x: float) -> list[list[list[float]]]:
    """Lines of the magnets' flux in the section across the roll at a place, m.

    Parameters
    ----------
    machine : Machine
    x : float, m

    Returns
    -------
    list of [y, z]
        Each a line from above a magnet's face outwards; the part of the field along the roll is
        left out, as in any section.

    Notes
    -----
    Followed along `sensor_fields` with the midpoint rule.
    """
    path = feed_path_of(machine)
    magnets = [block for block in path.blocks if block.kind == "magnet"]
    if not magnets:
        return []
    top = max(magnets, key=lambda block: block.z + block.height / 2)
    even = np.linspace(-1.0, 1.0, _LINES)
    across = 0.49 * even * np.abs(even) * top.width  # closer in the middle: those reach far
    begin = np.stack([top.y + across, np.full(_LINES, top.z + top.height / 2 + 1e-4)], axis=1)
    turn = np.radians(path.rotation)
    turned = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    at = begin @ turned.T
    sign = np.sign(_along(machine, x, at)[:, 1:])  # outwards, whichever pole is up
    line = [at]
    for _ in range(_STEPS):
        half = at + sign * _along(machine, x, at) * _STEP / 2
        at = at + sign * _along(machine, x, half) * _STEP
        line.append(at)
    whole = np.stack(line, axis=1)
    unturned = whole @ turned
    shown = []
    for one, inside in zip(whole, _in_blocks(path.blocks, unturned), strict=True):
        ends = int(np.argmax(inside)) if inside.any() else len(one)
        shown.append([few(one[:ends:2, 0]), few(one[:ends:2, 1])])
    return shown


def _in_blocks(blocks: Sequence[Block], points: Array) -> NDArray[np.bool_]:
    """Whether points (n, k, 2) of the sensor's own frame lie in one of its parts, (n, k)."""
    found = np.zeros(points.shape[:2], dtype=bool)
    for b in blocks:
        if b.kind != "winding":
            off = np.abs(points - np.array([b.y, b.z]))
            found |= (off[..., 0] < b.width / 2) & (off[..., 1] < b.height / 2)
    return found


def _along(machine: Machine, x: float, at: Array) -> Array:
    """Direction of the flux density in the section, unit length, (n, 2)."""
    points = np.column_stack([np.full(len(at), x), at])
    field = sensor_fields(machine, points)[0][:, 1:]
    return np.asarray(field / np.maximum(np.linalg.norm(field, axis=1, keepdims=True), 1e-30))
