"""What each stage and each wrong setting costs, in margin."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from tripmargin.ground.quantities import Quantity
from tripmargin.ground.units import shown
from tripmargin.machine import Machine
from tripmargin.stopping import stop_chain
from tripmargin.stopping.feed import metal_speed

_WARMER = 60.0  # K; a winding that has held all day (common practice, no source)
_TIRED = 0.7  # of the release current: a spring that has lost three tenths of its force
_VOLTS = 2.0


_STAGES = {
    "decision_delay": "detector's decision",
    "relay_release": "relay's release",
    "release": "hold winding's decay",
    "plunger": "plunger's fall",
    "rest": "coming to rest",
}


def stage_words(name: str) -> str:
    """A stage's name (models page, Stopping) as it is spoken.

    >>> stage_words("release"), stage_words("tooth upper")
    ("hold winding's decay", "upper pawl's wait for a tooth")
    """
    kind, _, pawl = name.partition(" ")
    if pawl and kind in ("swing", "tooth"):
        return f"{pawl} pawl's {'swing' if kind == 'swing' else 'wait for a tooth'}"
    return _STAGES.get(name, name.replace("_", " "))


@dataclass(frozen=True, slots=True)
class Cost:
    """A stage, or a setting set otherwise, and the margin it takes.

    Attributes
    ----------
    what : str
        The stage's name, or the change, in metric units.
    margin : float, m
        Negative: it gives. Infinite: with it the stop never comes about; minus infinite: only with
        it does the stop come about; not a number: the stop comes about neither way.
    kind : "stage" or "setting"
    what_us : str
        The change in US units, where that reads differently.
    """

    what: str
    margin: float
    kind: str
    what_us: str = ""

    def words(self, us: bool = False) -> str:
        """What it is, as it is spoken."""
        if self.kind == "stage":
            return stage_words(self.what)
        return self.what_us if us and self.what_us else self.what

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
    for change in _changes(machine):
        other = machine.with_settings(change.settings)
        travel = stop_chain(other, cut_length=cut_length).travel.nominal
        made.append(Cost(change.what, travel - base, "setting", change.what_us))
    return tuple(made)


@dataclass(frozen=True, slots=True)
class _Change:
    """Settings set otherwise, and what that is in words, metric and US where they differ."""

    what: str
    settings: dict[str, Any]
    what_us: str = ""


def _changes(machine: Machine) -> list[_Change]:
    chain, limits = machine.chain, machine.limits
    if chain is None:
        return []
    made: list[_Change] = []
    for gap in (limits.clearance.low, limits.clearance.high, 2 * limits.clearance.high):
        clearances = {f"chain.pawls.{pawl.name}.clearance": gap for pawl in chain.pawls}
        metric, us = (
            f"all pawls at {shown(gap, 'length', us=us, digits=3)} clearance"
            for us in (False, True)
        )
        made.append(_Change(metric, clearances, us))
    if chain.hold_winding.release_time is not None:
        return made
    made += _supply_changes(machine)
    for kind, fitted in (
        ("no suppression", {"kind": "none"}),
        ("a 0.8 V diode across the winding", {"kind": "diode", "voltage": 0.8}),
        ("a 24 V zener across the winding", {"kind": "zener", "voltage": 24.0}),
    ):
        if fitted["kind"] != chain.hold_winding.suppression.kind:
            made.append(_Change(kind, {"chain.hold_winding.suppression": fitted}))
    return made


def _supply_changes(machine: Machine) -> list[_Change]:
    chain = machine.chain
    assert chain is not None
    made: list[_Change] = []
    if chain.supply is not None:
        for volts in (-_VOLTS, _VOLTS):
            moved = _moved(chain.supply, volts)
            made.append(_Change(f"supply {volts:+g} V", {"chain.supply": moved}))
    hold, parts = chain.hold_winding, chain.plunger.parts
    if hold.resistance is not None:
        warm = _scaled(hold.resistance, 1 + 0.00393 * _WARMER)  # IEC 60028, from memory
        made.append(
            _Change(
                f"winding {_WARMER:g} K warmer",
                {"chain.hold_winding.resistance": warm},
                f"winding {_WARMER * 1.8:g} degF warmer",
            )
        )
    tired: dict[str, Any] = {}
    if parts is not None:
        tired["chain.plunger.parts.spring_force"] = _scaled(parts.spring_force, _TIRED)
    elif hold.release_current is not None:  # the magnet's force goes with the current squared
        weaker = _scaled(hold.release_current, _TIRED**0.5)
        tired["chain.hold_winding.release_current"] = weaker
    if tired:
        made.append(_Change(f"plunger spring at {_TIRED * 100:g} % of its force", tired))
    return made


def _moved(q: Quantity, by: float) -> Quantity:
    return replace(q, nominal=q.nominal + by, low=q.low + by, high=q.high + by)


def _scaled(q: Quantity, factor: float) -> Quantity:
    return replace(q, nominal=q.nominal * factor, low=q.low * factor, high=q.high * factor)
