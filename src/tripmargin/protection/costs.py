"""What each stage and each wrong setting costs, in margin."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.stopping import stop_chain
from tripmargin.stopping.feed import metal_speed

_WARMER = 60.0  # K; a winding that has held all day (common practice, no source)
_TIRED = 0.7  # of the release current: a spring that has lost three tenths of its force
_VOLTS = 2.0


@dataclass(frozen=True, slots=True)
class Cost:
    """A stage, or a setting set otherwise, and the margin it takes (m; negative: it gives)."""

    what: str
    margin: float
    kind: str  # "stage" or "setting"

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {"what": self.what, "margin_m": self.margin, "kind": self.kind}


def stage_costs(machine: Machine, cut_length: float) -> tuple[Cost, ...]:
    """The way that the metal travels in each stage, m, in the stages' order.

    Of the pawls' stages only those of the pawl that catches last count.
    """
    chain = stop_chain(machine, cut_length=cut_length)
    speed = metal_speed(machine, cut_length)
    pairs: dict[str, float] = {}
    for stage in chain.stages:
        if stage.name.startswith(("swing ", "tooth ")):
            name = stage.name.split(" ", 1)[1]
            pairs[name] = pairs.get(name, 0.0) + stage.nominal
    last = max(pairs, key=lambda name: pairs[name])
    made = []
    for stage in chain.stages:
        pawl = stage.name.split(" ", 1)[1] if stage.name.startswith(("swing ", "tooth ")) else last
        if pawl != last:
            continue
        # While the rolls slow down evenly the metal covers half of what it would at full speed.
        share = 0.5 if stage.name == "rest" else 1.0
        made.append(Cost(stage.name, share * speed * stage.nominal, "stage"))
    return tuple(made)


def setting_costs(machine: Machine, cut_length: float) -> tuple[Cost, ...]:
    """What single changes of setting or state take from the nominal margin, m."""
    base = stop_chain(machine, cut_length=cut_length).travel.nominal
    made = []
    for what, settings in _changes(machine):
        travel = stop_chain(machine.with_settings(settings), cut_length=cut_length).travel.nominal
        made.append(Cost(what, travel - base, "setting"))
    return tuple(made)


def _changes(machine: Machine) -> list[tuple[str, dict[str, Any]]]:
    chain, limits = machine.chain, machine.limits
    if chain is None:
        return []
    made: list[tuple[str, dict[str, Any]]] = []
    for gap in (limits.clearance.low, limits.clearance.high, 2 * limits.clearance.high):
        clearances = {f"chain.pawls.{pawl.name}.clearance": gap for pawl in chain.pawls}
        made.append((f"all pawls at {gap * 1e3:.3g} mm clearance", clearances))
    if chain.hold_winding.release_time is not None:
        return made
    made += _supply_changes(machine)
    for kind, fitted in (
        ("no suppression", {"kind": "none"}),
        ("a 0.8 V diode across the winding", {"kind": "diode", "voltage": 0.8}),
        ("a 24 V zener across the winding", {"kind": "zener", "voltage": 24.0}),
    ):
        if fitted["kind"] != chain.hold_winding.suppression.kind:
            made.append((kind, {"chain.hold_winding.suppression": fitted}))
    return made


def _supply_changes(machine: Machine) -> list[tuple[str, dict[str, Any]]]:
    chain = machine.chain
    assert chain is not None
    made: list[tuple[str, dict[str, Any]]] = []
    if chain.supply is not None:
        for volts in (-_VOLTS, _VOLTS):
            moved = _moved(chain.supply, volts)
            made.append((f"supply {volts:+g} V", {"chain.supply": moved}))
    hold = chain.hold_winding
    if hold.resistance is not None:
        factor = 1 + 0.00393 * _WARMER  # IEC 60028, from memory
        made.append(
            (
                f"winding {_WARMER:g} K warmer",
                {"chain.hold_winding.resistance": _scaled(hold.resistance, factor)},
            )
        )
    if hold.release_current is not None and chain.plunger.parts is None:
        made.append(
            (
                "plunger spring at 70 % of its force",
                {
                    "chain.hold_winding.release_current":
                    # The magnet's force goes with the current squared.
                    _scaled(hold.release_current, _TIRED**0.5)
                },
            )
        )
    elif chain.plunger.parts is not None:
        made.append(
            (
                "plunger spring at 70 % of its force",
                {
                    "chain.plunger.parts.spring_force": _scaled(
                        chain.plunger.parts.spring_force, _TIRED
                    )
                },
            )
        )
    return made


def _moved(q: Quantity, by: float) -> Quantity:
    return replace(q, nominal=q.nominal + by, low=q.low + by, high=q.high + by)


def _scaled(q: Quantity, factor: float) -> Quantity:
    return replace(q, nominal=q.nominal * factor, low=q.low * factor, high=q.high * factor)
