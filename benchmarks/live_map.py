"""A live step: map, race and verdict with a setting turned, against the whole map alone.

A person who slides a setting wants the picture to follow. The peer is our own full map, warm, in
the same process: what a page would have to wait for at the least without the kept sights.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
from common.turns import in_turn, median, say, spoken, where

import tripmargin as tm
from tripmargin.protection import LiveProtection, protection_map
from tripmargin.protection.live import OFF

SLIDES: dict[str, list[dict[str, Any]]] = {
    "every clearance": [{"clearance": gap} for gap in np.linspace(0.002, 0.009, 8)],
    "supply": [{"supply": volts} for volts in np.linspace(9.0, 16.0, 8)],
    "suppression": [
        {"chain.hold_winding.suppression": {"kind": "zener", "voltage": volts}}
        for volts in np.linspace(8.0, 50.0, 8)
    ],
}


def main() -> None:
    print(f"Live steps; {where()}")
    for name in tm.demo_machines():
        machine = tm.load_machine(name)
        cut, piece = machine.feed.cut_lengths[-1], machine.limits.must_stop  # as a page asks
        live = LiveProtection(machine)
        ask = partial(live.at, piece=piece)
        first = processor(lambda ask=ask, cut=cut: ask(cut_length=cut))
        require_same(live, cut)
        steps = [
            processor(lambda one=one, cut=cut, ask=ask: ask(cut_length=cut, **one))
            for slide in SLIDES.values()
            for one in slide
        ]
        turned = machine.with_settings({"clearance": 0.00333})
        gaps = iter(np.linspace(0.003, 0.006, 1000))

        def step(ask: Callable[..., Any] = ask, cut: float = cut) -> None:
            ask(cut_length=cut, clearance=next(gaps))  # noqa: B023  each run turns on

        theirs, own = in_turn(
            lambda turned=turned: protection_map(turned), step, rounds=5, patience=15
        )
        cuts = [
            processor(lambda at=at, ask=ask: ask(cut_length=float(at)))
            for at in np.linspace(machine.feed.cut_lengths[0], cut, 8)
        ]
        say(
            f"{machine.name}: a full map over a live step (map, race and verdict)",
            median(theirs) / median(own),
            "none",
            f"{spoken(median(theirs))} against {spoken(median(own))}; medians of {len(own)}."
            f" Processor time of {len(steps)} steps of {', '.join(SLIDES)}: median"
            f" {spoken(median(steps))}, slowest {spoken(max(steps))} (asked: under 150 ms); of"
            f" another cut: {spoken(median(cuts))}, slowest {spoken(max(cuts))}; of the first step:"
            f" {spoken(first)}",
        )


def processor(job: Callable[[], Any]) -> float:
    """Processor time of one run, s: what others do on the same computer counts little."""
    start = time.process_time()
    job()
    return time.process_time() - start


def require_same(live: LiveProtection, cut: float) -> None:
    """Refuse a ratio where the quick map is not the full one to what it promises."""
    one = live.at(cut_length=cut, clearance=0.00333)
    assert one.protection_map is not None
    full = protection_map(one.machine)
    off = np.abs(one.protection_map.protected - full.protected).max()
    if off > OFF:
        raise SystemExit(f"The quick map is off by {off:.2g}: no ratio.")


if __name__ == "__main__":
    main()
