"""What is said first where something is measured while the rolls turn; common practice."""

from __future__ import annotations

from tripmargin.ground.languages import later

PASSING = later(
    "Test pieces go over the sensor while the rolls turn: send them in on a long strip or cord,"
    " from outside the zone that the operator's manual marks, cutterhead out of drive, guards shut,"
    " one person at the controls, signs agreed, everybody else clear. Never reach towards turning"
    " rolls. The manual, local codes and licensed practice come first."
)
STOPPING = later(
    "A stop is timed while the rolls turn: record it from outside the zone that the operator's"
    " manual marks, guards shut, nobody near rolls or knives. One person at the controls presses"
    " the check button as the manual says. A phone or microphone is put down and a logger is wired"
    " before, engine off, key out, everything at rest, and fetched in the same way. The manual,"
    " local codes and licensed practice come first."
)
QUIET = later(
    "Noise is recorded while the empty rolls turn: fasten leads, sensors and the logger with the"
    " engine off, the key out and everything at rest, stored energy released, leads led clear of"
    " all that turns, and fetch them in the same way. Then all guards on, nobody near the intake,"
    " rolls and knives, the logger read from outside. The detector stays in its circuit: never run"
    " the machine with the protection bypassed. The manual, local codes and licensed practice come"
    " first."
)
