"""What is said before a question of `machine new` sends hands or eyes to the machine."""

from __future__ import annotations

CAUTIONS = (
    "Before hands go near rolls, knives, springs or wiring: engine off, key out, wait until"
    " everything is at rest, release stored energy (springs, hydraulics), block the feed rolls."
    " Knives cut at rest too. The operator's manual, local codes and licensed practice come first."
)
REMINDER = "Engine off, key out, everything at rest, stored energy released, feed rolls blocked."
NEAR_THE_MACHINE = ("feed", "sensor", "detector", "chain")

_RUNS = (
    "This is read while the machine runs: from the seat, or from outside the zone that the"
    " operator's manual marks, all guards on and shut. One person at the controls, signs agreed,"
    " everybody else clear; nobody near rolls, knives or drives."
)
_METER = (
    " The meter goes on before, engine off, key out, everything at rest, its leads tied away from"
    " all that moves; it comes off in the same way."
)
RUNNING = {
    "feed.cutterhead_speed": f"{_RUNS} The tachometer's mark goes on before, engine off, key out,"
    " everything at rest. Where it cannot be seen from there, take the manual's speed.",
    "feed.slip": f"{_RUNS} The mat is marked and its pieces are measured with engine off, key out,"
    " everything at rest; while it runs the turns are only counted.",
    "detector.noise": f"{_RUNS}{_METER}",
    "chain.supply": f"{_RUNS}{_METER}",
}
"""Questions whose answer is read while the machine runs: engine off would be no help there, so each
says how nobody is near what moves. Common practice, no source."""
