"""What is said before a question of `machine new` sends hands or eyes to the machine.

In English, marked for the catalogues: `say(CAUTIONS)`.
"""

from __future__ import annotations

from tripmargin.ground.languages import later, say

CAUTIONS = later(
    "Before hands go near rolls, knives, springs or wiring: engine off, key out, wait until"
    " everything is at rest, release stored energy (springs, hydraulics), block the feed rolls."
    " Knives cut at rest too. The operator's manual, local codes and licensed practice come first."
)
REMINDER = later(
    "Engine off, key out, everything at rest, stored energy released, feed rolls blocked."
)
NEAR_THE_MACHINE = ("feed", "sensor", "detector", "chain")

_RUNS = later(
    "This is read while the machine runs: from the seat, or from outside the zone that the"
    " operator's manual marks, all guards on and shut. One person at the controls, signs agreed,"
    " everybody else clear; nobody near rolls, knives or drives."
)
_METER = later(
    "The meter goes on before, engine off, key out, everything at rest, its leads tied away from"
    " all that moves; it comes off in the same way."
)
_TACHOMETER = later(
    "The tachometer's mark goes on before, engine off, key out, everything at rest. Where it cannot"
    " be seen from there, take the manual's speed."
)
_MAT = later(
    "The mat is marked and its pieces are measured with engine off, key out, everything at rest;"
    " while it runs the turns are only counted."
)
RUNNING = {
    "feed.cutterhead_speed": (_RUNS, _TACHOMETER),
    "feed.slip": (_RUNS, _MAT),
    "detector.noise": (_RUNS, _METER),
    "chain.supply": (_RUNS, _METER),
}
"""Questions whose answer is read while the machine runs: engine off would be no help there, so each
says how nobody is near what moves. Common practice, no source."""


def while_running(field: str) -> str:
    """How a field is read while the machine runs, in the reader's words; empty where at rest."""
    return " ".join(say(one) for one in RUNNING.get(field, ()))
