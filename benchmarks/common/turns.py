"""Peer and ours in turn, medians, and a ratio that says on what it was measured."""

from __future__ import annotations

import os
import platform
import statistics
import sys
import time
from collections.abc import Callable
from typing import Any

Job = Callable[[], Any]


def seconds(job: Job) -> float:
    """Wall-clock time of one run, s."""
    start = time.perf_counter()
    job()
    return time.perf_counter() - start


def in_turn(
    peer: Job, ours: Job, *, rounds: int, patience: float = 40.0
) -> tuple[list[float], list[float]]:
    """Times of both, s, run one after the other so that a busy moment hits both.

    At least two rounds are run, and no more once `patience` (s) is used up.
    """
    start, pairs = time.perf_counter(), []
    while len(pairs) < rounds:
        pairs.append((seconds(peer), seconds(ours)))
        if len(pairs) >= 2 and time.perf_counter() - start > patience:
            break
    return [p for p, _ in pairs], [o for _, o in pairs]


def median(values: list[float]) -> float:
    """The middle one: one busy moment does not move it."""
    return statistics.median(values)


def spoken(time_s: float) -> str:
    """A time in a unit that suits it.

    >>> spoken(0.0123), spoken(2.5), spoken(4000)
    ('12.3 ms', '2.5 s', '66.7 min')
    """
    if time_s < 1:
        return f"{time_s * 1e3:.3g} ms"
    return f"{time_s:.3g} s" if time_s < 600 else f"{time_s / 60:.3g} min"


def say(what: str, ratio: float, target: str, details: str) -> None:
    """One result: the ratio first, then what it should be, then where it comes from."""
    print(f"{what}: {ratio:.3g} x  (target: {target})")
    print(f"    {details}")


def where() -> str:
    """The machine class: processors, load and Python, no names."""
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return (
        f"{os.cpu_count()} processors{load}, {platform.system()}, "
        f"Python {sys.version_info.major}.{sys.version_info.minor}"
    )
