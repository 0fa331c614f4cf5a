"""What each stage and each wrong setting costs, in margin."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from tripmargin.ground.languages import ENGLISH, later, say, speaking
from tripmargin.ground.languages.phrases import Phrase
from tripmargin.ground.quantities import Quantity
from tripmargin.ground.units import INCH
from tripmargin.machine import Machine
from tripmargin.stopping import stop_chain
from tripmargin.stopping.feed import metal_speed
from tripmargin.stopping.pawl_words import pawl_words

_WARMER = 60.0  # K; a winding that has held all day (common practice, no source)
_TIRED = 0.7  # of the release current: a spring that has lost three tenths of its force
_VOLTS = 2.0


_STAGES = {
    "decision_delay": later("detector's decision"),
    "relay_release": later("relay's release"),
    "release": later("hold winding's decay"),
    "plunger": later("plunger's fall"),
    "rest": later("coming to rest"),
}
_THE_STAGES = {
    "decision_delay": later("the detector's decision"),
    "relay_release": later("the relay's release"),
    "release": later("the hold winding's decay"),
    "plunger": later("the plunger's fall"),
    "rest": later("coming to rest"),
}


def stage_words(name: str) -> str:
    """A stage's name (models page, Stopping) as it is spoken.

    >>> stage_words("release"), stage_words("tooth upper")
    ("hold winding's decay", "upper pawl's wait for a tooth")
    """
    kind, _, pawl = name.partition(" ")
    if pawl and kind == "swing":
        return say("{pawl} pawl's swing", pawl=pawl_words(pawl))
    if pawl and kind == "tooth":
        return say("{pawl} pawl's wait for a tooth", pawl=pawl_words(pawl))
    return say(_STAGES[name]) if name in _STAGES else name.replace("_", " ")


def the_stage(name: str) -> str:
    """A stage as it stands in a sentence.

    >>> the_stage("plunger"), the_stage("rest"), the_stage("swing lower")
    ("the plunger's fall", 'coming to rest', "the lower pawl's swing")
    """
    kind, _, pawl = name.partition(" ")
    if pawl and kind == "swing":
        return say("the {pawl} pawl's swing", pawl=pawl_words(pawl))
    if pawl and kind == "tooth":
        return say("the {pawl} pawl's wait for a tooth", pawl=pawl_words(pawl))
    return say(_THE_STAGES[name]) if name in _THE_STAGES else name.replace("_", " ")


@dataclass(frozen=True, slots=True)
class Cost:
    """A stage, or a setting set otherwise, and the margin it takes.

    Attributes
    ----------
    what : str
        The stage's name, or the change in English and metric units: a key. `words` are to be read.
    margin : float, m
        Negative: it gives. Infinite: with it the stop never comes about; minus infinite: only with
        it does the stop come about; not a number: the stop comes about neither way.
    kind : "stage" or "setting"
    change, change_us : Phrase or None
        The change, in metric and in US units; the second where it reads differently.
    """

    what: str
    margin: float
    kind: str
    change: Phrase | None = None
    change_us: Phrase | None = None

    def words(self, us: bool = False) -> str:
        """What it is, as it is spoken."""
        if self.kind == "stage":
            return stage_words(self.what)
        change = self.change_us if us and self.change_us is not None else self.change
        return self.what if change is None else str(change)

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
        what = _in_english(change.said)
        made.append(Cost(what, travel - base, "setting", change.said, change.said_us))
    return tuple(made)


def _in_english(said: Phrase) -> str:
    """A change as a key, whatever the language."""
    with speaking(ENGLISH):
        return str(said)


@dataclass(frozen=True, slots=True)
class _Change:
    """Settings set otherwise, and what that is in words, metric and US where they differ."""

    said: Phrase
    settings: dict[str, Any]
    said_us: Phrase | None = None


def _changes(machine: Machine) -> list[_Change]:
    chain, limits = machine.chain, machine.limits
    if chain is None:
        return []
    made: list[_Change] = []
    for gap in (limits.clearance.low, limits.clearance.high, 2 * limits.clearance.high):
        clearances = {f"chain.pawls.{pawl.name}.clearance": gap for pawl in chain.pawls}
        metric = Phrase(later("all pawls at {gap:.3g} mm clearance"), {"gap": gap * 1e3})
        us = Phrase(later("all pawls at {gap:.3g} in clearance"), {"gap": gap / INCH})
        made.append(_Change(metric, clearances, us))
    if chain.hold_winding.release_time is not None:
        return made
    made += _supply_changes(machine)
    for kind, fitted in (
        (later("no suppression, to compare only: the contact then arcs"), {"kind": "none"}),
        (later("a 0.8 V diode across the winding"), {"kind": "diode", "voltage": 0.8}),
        (later("a 24 V zener across the winding"), {"kind": "zener", "voltage": 24.0}),
    ):
        if fitted["kind"] != chain.hold_winding.suppression.kind:
            made.append(_Change(Phrase(kind), {"chain.hold_winding.suppression": fitted}))
    return made


def _supply_changes(machine: Machine) -> list[_Change]:
    chain = machine.chain
    assert chain is not None
    made: list[_Change] = []
    if chain.supply is not None:
        for volts in (-_VOLTS, _VOLTS):
            moved = _moved(chain.supply, volts)
            said = Phrase(later("supply {volts:+g} V"), {"volts": volts})
            made.append(_Change(said, {"chain.supply": moved}))
    hold, parts = chain.hold_winding, chain.plunger.parts
    if hold.resistance is not None:
        warm = _scaled(hold.resistance, 1 + 0.00393 * _WARMER)  # IEC 60028, from memory
        made.append(
            _Change(
                Phrase(later("winding {rise:g} K warmer"), {"rise": _WARMER}),
                {"chain.hold_winding.resistance": warm},
                Phrase(later("winding {rise:g} degF warmer"), {"rise": _WARMER * 1.8}),
            )
        )
    tired: dict[str, Any] = {}
    if parts is not None:
        tired["chain.plunger.parts.spring_force"] = _scaled(parts.spring_force, _TIRED)
    elif hold.release_current is not None:  # the magnet's force goes with the current squared
        weaker = _scaled(hold.release_current, _TIRED**0.5)
        tired["chain.hold_winding.release_current"] = weaker
    if tired:
        said = Phrase(later("plunger spring at {share:g} % of its force"), {"share": _TIRED * 100})
        made.append(_Change(said, tired))
    return made


def _moved(q: Quantity, by: float) -> Quantity:
    return replace(q, nominal=q.nominal + by, low=q.low + by, high=q.high + by)


def _scaled(q: Quantity, factor: float) -> Quantity:
    return replace(q, nominal=q.nominal * factor, low=q.low * factor, high=q.high * factor)
