"""The instants of one stop on one clock, with the curves that run between them; as data."""

from __future__ import annotations

from math import isfinite
from typing import Any

import numpy as np

from tripmargin.pictures.feed_path_clock import PawlRun, pawl_runs
from tripmargin.pictures.trade_words import pawl_place
from tripmargin.reports.how.curves import current_curve, few, pawl_curve, plunger_curve
from tripmargin.reports.how.played import Run
from tripmargin.reports.how.telling import instants_of, result_of

_AFTER = 0.006  # s shown after the rolls stand
_POINTS = 300  # of the voltage's curve


def timeline_of(run: Run) -> dict[str, Any]:
    """A stop as the page plays it; JSON-ready, SI.

    Returns
    -------
    dict
        `instants`, each with `name` and `t`; `catch`, `rest` and `way` fix the metal's place as in
        a race: even speed to the catch, then evenly less over the way to rest. None: never.
    """
    stands = run.ends["rest"] if run.caught else np.inf
    return {
        "lost": run.lost,
        "caught": run.caught,
        "begins": -run.lead,
        "ends": stands + _AFTER if isfinite(stands) else run.leaves,
        "start": run.start,
        "speed": run.metal_speed,
        "roll_speed": run.roll_speed,
        "instants": instants_of(run),
        "voltage": _voltage(run),
        "pawls": [_pawl(run, one) for one in pawl_runs(run.lanes)],
        "result": result_of(run),
        **(_stopping(run) if run.caught else _passing()),
    }


def _stopping(run: Run) -> dict[str, Any]:
    ends = run.ends
    return {
        "catch": _finite(run.catch),
        "rest": run.rest,
        "way": run.way,
        "stands": _finite(ends["rest"]),
        "place": run.stop,
        "margin": run.margin,
        "trip": _finite(ends["decision_delay"]) if "decision_delay" in ends else None,
        "opens": _finite(run.opens),
        "lets_go": _finite(ends["release"]),
        "out": _finite(ends["plunger"]),
        "current": current_curve(run.values, run.opens, ends["release"]),
        "plunger": plunger_curve(run.values, ends["release"], ends["plunger"]),
    }


def _passing() -> dict[str, Any]:
    """Of a piece that trips nothing: nothing of the stop comes about."""
    never = ("catch", "rest", "way", "stands", "place", "margin", "trip", "opens", "lets_go", "out")
    plunger: dict[str, Any] = {"travel": None, "computed": False, "t": [], "x": []}
    return {**dict.fromkeys(never), "current": None, "plunger": plunger}


def _finite(value: float) -> float | None:
    return float(value) if isfinite(value) else None


def _voltage(run: Run) -> dict[str, Any] | None:
    """The detector's output over time, V, up to the catch: then the metal slows down."""
    if run.seen is None:
        return None
    t = (run.seen.y - run.start) / run.metal_speed
    until = min(run.catch, run.leaves) if run.caught else run.leaves
    part = (t >= -run.lead) & (t <= until)
    step = max(int(part.sum()) // _POINTS, 1)
    t, v = t[part][::step], run.seen.output[part][::step]
    if run.caught:  # the crossing itself lies between two samples
        sign = np.sign(np.interp(1e-9, t, v)) or 1.0
        k = int(np.searchsorted(t, 0.0))
        t, v = np.insert(t, k, 0.0), np.insert(v, k, sign * run.seen.threshold)
    return {"threshold": run.seen.threshold, "peak": run.seen.peak, "t": few(t), "v": few(v)}


def _pawl(run: Run, one: PawlRun) -> dict[str, Any]:
    gap = run.values(f"chain.pawls.{one.name}.clearance")
    made = {"name": one.name, "called": pawl_place(one.name), "gap": _finite(gap)}
    if not run.caught:
        return {**made, **dict.fromkeys(("begins", "ends", "caught")), "t": [], "x": []}
    return {
        **made,
        "begins": _finite(one.swing.begins),
        "ends": _finite(one.swing.ends),
        "caught": _finite(one.caught),
        **pawl_curve(run.values, one.name, one.swing.begins, one.swing.ends),
    }
