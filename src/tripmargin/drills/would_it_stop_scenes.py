"""Where a question of "would it stop?" may come from: cuts, places, settings, pieces; by seed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from tripmargin.drills.broken_machine import toss
from tripmargin.drills.would_it_stop_answers import MISSED, TOO_LATE
from tripmargin.drills.would_it_stop_kinds import cuts_on_offer
from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import later
from tripmargin.ground.restating import restated
from tripmargin.machine import Machine
from tripmargin.machine.rewriting import field_spec

STEEL = (
    "M8x30 bolt", "M10x50 bolt", "M12x40 bolt", "M16x60 bolt", "M16 nut", "8 mm x 60 mm rod",
    "6 mm x 120 mm rod", "mower knife section", "pick-up tine, broken, 90 mm", "linch pin 10x45",
    "R-clip 4x80", "rebar end 8x150", "fence staple 4x40", "combination spanner 13",
    "hay rake tine, broken, 200 mm", "cast bracket fragment", "roll pin 8x40", "M6x20 bolt",
    "horseshoe nail", "M8 nut", "2 mm binding wire, 60 mm", "M6 grease nipple", "split pin 5x50",
)  # fmt: skip
NOT_STEEL = (
    "20 mm stainless ball", "stainless M10x30 bolt", "aluminium gate-latch part",
    "30 mm aluminium ball", "brass hose coupling", "fist-sized stone",
    "drinks can of aluminium, flattened", "40 mm stainless ball",
)  # fmt: skip
"""Names of the tables and shapes beside them; which ones is our own choice."""
LIES = ("across", "along", "upright")
_STEP = 0.005  # m; places are told in whole 5 mm
_CHANGED = 0.4
"""Share of the questions with a setting set otherwise."""
_SPEEDS, _SUPPLIES, _GAPS = (0.75, 1.2), (0.85, 1.2), (0.5, 1.7, 2.4)
"""What a setting is multiplied by; invented."""


@dataclass(frozen=True, slots=True)
class Scene:
    """All of a situation but the piece; lengths in m."""

    cut_length: float
    x: float
    height: float
    settings: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Scenes:
    """The scenes of one machine and one seed."""

    machine: Machine
    seed: int

    def toss(self, *of: object) -> float:
        """A number from 0 up to 1, always the same for the same words."""
        return toss(self.seed, "would it stop", *of)

    def pick(self, among: Any, *of: object) -> Any:
        """One of several."""
        return among[int(self.toss(*of) * len(among))]

    def scene(self, wanted: str, *of: object) -> Scene:
        """A scene in which the wanted region is likely.

        Metal is missed at short cuts and high in the crop, and too late at long cuts and with a
        stop that takes longer.
        """
        cuts = cuts_on_offer(self.machine)
        half = (len(cuts) + 1) // 2
        part = {MISSED: cuts[:half], TOO_LATE: cuts[-half:]}.get(wanted, cuts)
        changed = self.toss("changed", *of) < (0.75 if wanted == TOO_LATE else _CHANGED)
        return Scene(
            self.pick(part, "cut", *of), self._across(*of), self._height(wanted, *of),
            self._settings(*of) if changed else {},
        )  # fmt: skip

    def piece(self, *of: object) -> str:
        """A piece of steel from the tables, and how it lies."""
        name = self.pick(STEEL, "piece", *of)
        return name if name.endswith(" nut") else f"{name} {self.pick(LIES, 'lies', *of)}"

    def not_steel(self, *of: object) -> str:
        """A piece that a magnet hardly moves."""
        return str(self.pick(NOT_STEEL, "not steel", *of))

    def _across(self, *of: object) -> float:
        (width,) = self.machine.need(later("would it stop?"), "feed.roll_width")
        return _whole((self.toss("x", *of) - 0.5) * 0.9 * width.nominal)

    def _height(self, wanted: str, *of: object) -> float:
        (depth,) = self.machine.need(later("would it stop?"), "feed.crop_depth")
        share = self.toss("height", *of)
        share = {MISSED: 0.4 + 0.6 * share, TOO_LATE: 0.7 * share}.get(wanted, share)
        low, high = max(depth.low, 0.0), depth.high
        return min(max(_whole(low + share * (high - low)), low), high)

    def _settings(self, *of: object) -> dict[str, Any]:
        """One thing set otherwise; nothing where the machine takes none of it."""
        ways = sorted(
            (self._clearance, self._supply, self._suppression, self._speed),
            key=lambda way: self.toss("way", way.__name__, *of),
        )
        for way in ways:
            made = way(*of)
            try:
                if made:
                    self.machine.with_settings(made)
                    return made
            except MachineFileError:
                continue  # beyond what the file's own rules allow
        return {}

    def _clearance(self, *of: object) -> dict[str, Any]:
        chain, factor = self.machine.chain, self.pick(_GAPS, "gap", *of)
        pawls = () if chain is None else chain.pawls
        paths = [f"chain.pawls.{each.name}.clearance" for each in pawls]
        return self._times(paths, factor)

    def _supply(self, *of: object) -> dict[str, Any]:
        return self._times(["chain.supply"], self.pick(_SUPPLIES, "supply", *of))

    def _speed(self, *of: object) -> dict[str, Any]:
        return self._times(["feed.cutterhead_speed"], self.pick(_SPEEDS, "speed", *of))

    def _times(self, paths: list[str], factor: float) -> dict[str, Any]:
        """Quantities moved with their tolerances: that they moved makes them no better known."""
        made = {}
        for path in paths:
            given = self.machine.get(path)
            if given is not None and given.text:
                spec = field_spec(path)
                made[path] = restated(given, given.nominal * factor, least=spec.low, most=spec.high)
        return made

    def _suppression(self, *of: object) -> dict[str, Any]:
        chain = self.machine.chain
        winding = None if chain is None else chain.hold_winding
        if winding is None or winding.release_time is not None:
            return {}  # a measured time does not say what another suppression would make of it
        others = [
            {"kind": "diode", "voltage": "0.8 V"},
            {"kind": "resistor", "resistance": "82 ohm"},
            {"kind": "zener", "voltage": "24 V"},
        ]
        fitted = winding.suppression
        found = [each for each in others if fitted is None or each["kind"] != fitted.kind]
        return {"chain.hold_winding.suppression": self.pick(found, "suppression", *of)}


def _whole(value: float) -> float:
    return round(round(value / _STEP) * _STEP, 6)
