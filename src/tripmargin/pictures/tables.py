"""The table behind each picture: headers with units, rows of plain numbers, SI."""

from __future__ import annotations

import numpy as np

from tripmargin.ground.languages import later
from tripmargin.pictures.data import ProtectionMapLike, RaceLike, ReachLike
from tripmargin.pictures.page import Cell, Table
from tripmargin.pictures.words import NEVER


def protection_map_table(pm: ProtectionMapLike) -> Table:
    """One row for each cut length and ball diameter.

    Parameters
    ----------
    pm : ProtectionMapLike

    Returns
    -------
    (headers, rows)
        Lengths in m, probabilities from 0 to 1.
    """
    headers = (
        later("cut_length_m"),
        later("ball_diameter_m"),
        later("missed"),
        later("too_late"),
        later("protected"),
    )
    parts = [np.asarray(part) for part in (pm.missed, pm.too_late, pm.protected)]
    rows: list[list[Cell]] = [
        [_plain(cut), _plain(ball), *(_plain(part[i, j]) for part in parts)]
        for i, cut in enumerate(pm.cut_lengths)
        for j, ball in enumerate(pm.diameters)
    ]
    return headers, rows


def race_table(race: RaceLike) -> Table:
    """One row for each stage, then the margin and the way to the shear bar.

    Returns
    -------
    (headers, rows)
        Stages in s, lengths in m; "never" for a stage that may never come about, and "runs on" for
        the margin of a stop that never does.
    """
    headers = (
        later("quantity"),
        later("unit"),
        later("nominal"),
        later("low"),
        later("high"),
    )
    rows: list[list[Cell]] = [
        [stage.name, "s", *(_or(NEVER, v) for v in (stage.nominal, stage.low, stage.high))]
        for stage in race.stages
    ]
    spans = (("sensor_to_shear_bar", race.sensor_to_shear_bar), ("margin", race.margin))
    for name, span in spans:
        values = (span.nominal, span.low, span.high) if span is not None else (None, None, None)
        rows.append([name, "m", *(None if v is None else _or("runs on", v) for v in values)])
    rows.append(["probability_through", "", _plain(race.probability_through), None, None])
    return headers, rows


def reach_table(reach: ReachLike) -> Table:
    """One row for each height and place; empty where no ball is seen.

    Returns
    -------
    (headers, rows)
        All in m.
    """
    headers = (later("height_m"), later("place_m"), later("smallest_ball_m"))
    balls = np.asarray(reach.smallest_ball, dtype=float)
    rows: list[list[Cell]] = [
        [_plain(h), _plain(x), _plain(balls[i, j]) if np.isfinite(balls[i, j]) else None]
        for i, h in enumerate(reach.heights)
        for j, x in enumerate(reach.places)
    ]
    return headers, rows


def _or(word: str, value: float) -> Cell:
    """A value, or a word for one without end."""
    return float(value) if np.isfinite(value) else word


def _plain(value: float) -> float:
    return float(value)
