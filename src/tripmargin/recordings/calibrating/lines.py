"""Where a yard may pass a piece, and the line that a machine's main results are read on."""

from __future__ import annotations

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.machine import Machine
from tripmargin.stopping import metal_speed

Line = tuple[float, float, float]
"""Place across the roll, height over it, speed: m, m, m/s."""


def passing_lines(machine: Machine) -> list[Line]:
    """Places, heights and speeds at which a yard may pass a piece: m, m, m/s."""
    (depth,) = machine.need(say("a calibration"), "feed.crop_depth")
    assert machine.sensor is not None
    assert machine.feed is not None
    x = machine.sensor.assemblies[0].centre[0].nominal
    cuts = machine.feed.cut_lengths
    low, high = max(depth.low, 0.005), max(depth.high, 0.005)
    heights = sorted({round(h, 3) for h in np.linspace(low, high, 4)})
    speeds = {metal_speed(machine, cut) for cut in (cuts[0], cuts[-1])}
    return [(x, float(h), float(v)) for v in sorted(speeds) for h in heights]


def slow_lines(machine: Machine) -> list[Line]:
    """Those at the slowest cut, lowest first."""
    lines = passing_lines(machine)
    return [line for line in lines if line[2] == lines[0][2]]


def middle_of(lines: list[Line]) -> int:
    """Which of the slow lines lies in the middle of the crop."""
    return len(lines) // 2
