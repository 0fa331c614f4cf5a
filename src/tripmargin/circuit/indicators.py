"""What a person sees and hears: lamps, buzzer, plunger, pawls, rolls, and whether the stop came."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tripmargin.circuit.behaviours import Mechanism
from tripmargin.circuit.grid import Grid, Look
from tripmargin.circuit.memory import Before, Memory
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import INDICATORS, Indicator, Led, original
from tripmargin.circuit.steps import ON, Step

LIGHTS = ("off", "dim", "on", "flicker")
"""States of a lamp or a buzzer."""

HEARD = {
    "off": "silent",
    "dim": "sounds weakly",
    "on": "sounds",
    "flicker": "comes and goes",
}
"""What people call the states of a buzzer."""

STOPS = (
    "in time",
    "late",
    "runs on",
    "stops and restarts",
    "drive let go, pawls not in: coasts",
)
"""How a stop that was asked for went."""

Lit = Callable[[Look], str]


def lights(network: Network, grid: Grid) -> dict[str, Lit]:
    """For each lamp and buzzer, what tells from a look whether it is on, dim or off.

    An LED goes by its current, a filament or a buzzer by its voltage, either way round.
    """
    found: dict[str, Lit] = {}
    for part in network.parts:
        if isinstance(part, INDICATORS):
            index = grid.part_index[part.name]
            scale = part.ohm if isinstance(part, Indicator) else 1.0
            found[part.name] = _light(index, scale, part)
        elif isinstance(original(part), INDICATORS):
            found[part.name] = _dark
    return found


def _dark(look: Look) -> str:
    return "off"


def _light(index: int, scale: float, part: Led | Indicator) -> Lit:
    on, dim, both_ways = part.on, part.dim, isinstance(part, Indicator)

    def lit(look: Look) -> str:
        size = look.amps[index] * scale
        size = abs(size) if both_ways else size
        return "on" if size >= on else "dim" if size >= dim else "off"

    return lit


def light_of(lit: Lit, looks: Sequence[Look]) -> str:
    """State over the moments of a cycle: flickers where they differ."""
    if len(looks) == 1:
        return lit(looks[0])
    states = {lit(look) for look in looks}
    return states.pop() if len(states) == 1 else "flicker"


def pawls(network: Network, plunger_in: bool, step: Step, before: Before) -> str:
    """Whether the pawls are "in" the ratchets or "out" of them."""
    mechanism, behaviour = network.mechanism, network.behaviour
    if mechanism is None:
        return "out"
    if mechanism.lock_holds == "pawls out" and step.position(mechanism.lock) == ON:
        return "out"
    if behaviour.get("linkage_broken"):
        return "in"
    if plunger_in:
        return "out"
    if behaviour.get("pawl_spring_broken"):
        return before.pawls
    return "in"


def rolls(network: Network, grid: Grid, look: Look, step: Step, pawls_now: str) -> str:
    """What the rolls do: "forward", "reverse" or "stopped".

    The ratchets block forward only: reverse works with the pawls in.
    """
    mechanism = network.mechanism
    if mechanism is None or not step.engine:
        return "stopped"
    shift = step.position(mechanism.shift)
    winding = {"forward": mechanism.forward, "reverse": mechanism.reverse}.get(shift)
    if shift not in ("forward", "reverse") or not _driven(mechanism, grid, look, winding):
        return "stopped"
    return "stopped" if shift == "forward" and pawls_now == "in" else shift


def rolls_of_cycle(
    network: Network, step: Step, moves: Sequence[str], plungers: Sequence[bool]
) -> str:
    """What the rolls do over the moments of a cycle: "jerking" where that is not one thing."""
    mechanism = network.mechanism
    if len(set(moves)) > 1:
        return "jerking"
    if mechanism is not None and mechanism.jerks_undriven and len(set(plungers)) > 1:
        forward = step.engine and step.position(mechanism.shift) == "forward"
        return "jerking" if forward else moves[0]
    return moves[0]


def _driven(mechanism: Mechanism, grid: Grid, look: Look, winding: str | None) -> bool:
    """Whether the clutch grips; a mechanical shift always does."""
    if winding is None:
        return True
    least = mechanism.clutch_min
    if winding == mechanism.reverse and mechanism.reverse_min is not None:
        least = mechanism.reverse_min
    return abs(look.amps[grid.part_index[winding]]) >= least


def stop(network: Network, step: Step, before: Before, now: Before, momentary: bool) -> str | None:
    """How the stop went if this step asked for one, one of `STOPS`; None if it did not.

    "late" is set by the faults that make it so and not computed here: the stop's times are.
    """
    mechanism, detector = network.mechanism, network.detector
    if mechanism is None or detector is None or before.rolls != "forward":
        return None
    pressed = detector.check is not None and step.position(detector.check.button) == ON
    asked = step.metal or pressed or (now.tripped and not before.tripped)
    if not asked or step.position(mechanism.shift) != "forward" or now.rolls == "jerking":
        return None
    if now.rolls == "forward":
        return "stops and restarts" if momentary else "runs on"
    if now.pawls == "out":
        return "drive let go, pawls not in: coasts"
    late = network.behaviour.get("plunger_spring_weak") or network.behaviour.get("clearance_wide")
    return "late" if late else "in time"


def plunger_word(plunger_in: bool, was_in: bool) -> str:
    """The plunger in the trade's words: pulled in this step, held from before, or dropped.

    >>> plunger_word(True, False), plunger_word(True, True), plunger_word(False, True)
    ('pulled', 'held', 'dropped')
    """
    if not plunger_in:
        return "dropped"
    return "held" if was_in else "pulled"


__all__ = [
    "HEARD",
    "LIGHTS",
    "STOPS",
    "Memory",
    "light_of",
    "lights",
    "pawls",
    "plunger_word",
    "rolls",
    "rolls_of_cycle",
    "stop",
]
