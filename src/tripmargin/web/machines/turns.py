"""What a person turns on a machine's page: cut length, clearances, supply, suppression, piece."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from tripmargin.ground.decimal_commas import meant_by, typed
from tripmargin.ground.errors import TripmarginError, shortened
from tripmargin.ground.languages import known_languages, later, numeral, say, speaking
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.ground.restating import restated
from tripmargin.ground.tables import everyday_metal
from tripmargin.ground.typed import spelled_quantity, typed_quantity
from tripmargin.ground.units import DIMENSIONS, INCH
from tripmargin.machine import Machine
from tripmargin.machine.rewriting import field_spec
from tripmargin.sensing import Piece
from tripmargin.sensing.piece_said import said_piece
from tripmargin.sensing.piece_typed import typed_piece
from tripmargin.web.machines.naming import called

AS_SET = ""
SUPPRESSIONS = {
    "none": later("nothing: the current falls as fast as it can"),
    "diode 0.8 V": later("diode"),
    "resistor 82 ohm": later("resistor, 82 ohm"),
    "zener 24 V": later("zener, 24 V"),
    "zener 36 V": later("zener, 36 V"),
}
_TABLES: dict[str, Any] = {
    "none": {"kind": "none"},
    "diode 0.8 V": {"kind": "diode", "voltage": 0.8},
    "resistor 82 ohm": {"kind": "resistor", "resistance": 82.0},
    "zener 24 V": {"kind": "zener", "voltage": 24.0},
    "zener 36 V": {"kind": "zener", "voltage": 36.0},
}
MOST_PIECES = 60  # letters of a piece in words


@dataclass(frozen=True, slots=True)
class Slider:
    """One slider, in the unit that the reader sees.

    `exact` is the machine's own value in that unit: where the slider stands there, the file's value
    and tolerance are used untouched.
    """

    name: str
    label: str
    short: str
    low: float
    high: float
    step: float
    value: float
    exact: float
    unit: str
    size: float
    """One unit, SI."""
    tolerance: str = ""
    """The file's value with its tolerance, in the reader's units."""

    @property
    def span(self) -> str:
        """What it can be moved over, with its unit."""
        return say("{low:g} to {high:g} {unit}", low=self.low, high=self.high, unit=self.unit)

    @property
    def shown(self) -> str:
        """The value with its unit."""
        return f"{numeral(self.value, 'g')} {self.unit}"

    @property
    def moved(self) -> bool:
        """Whether it stands elsewhere than the file has it."""
        return abs(self.value - self.exact) > self.step / 2


@dataclass(frozen=True, slots=True)
class Turns:
    """All that is turned: the sliders, the suppression, the piece, and what is wrong with it."""

    cut: Slider
    sliders: tuple[Slider, ...]
    suppression: str
    piece: str
    offered: tuple[float, ...]
    wrong: dict[str, str] = field(default_factory=dict)
    has_suppression: bool = True
    piece_mends: tuple[tuple[str, str], ...] = ()
    """What may be meant by a piece with a comma in a number, and the query that asks for each."""

    typed: str = ""
    """The piece as it was typed, also where it is none."""

    @property
    def piece_said(self) -> str:
        """The piece in the reader's language."""
        return said_piece(self.piece)

    @property
    def cut_length(self) -> float:
        """In SI; a cut on offer exactly, where the slider stands at one."""
        near = [c for c in self.offered if abs(c / self.cut.size - self.cut.value) < 1e-6]
        return near[0] if near else self.cut.value * self.cut.size

    def settings(self, machine: Machine) -> dict[str, Any]:
        """What differs from the machine's file, as `Machine.with_settings` takes it.

        A slider moves a value with its tolerance: that the gap was set otherwise does not make it
        better known. It is said as the file would say it, so that what is kept is what was shown.
        """
        made: dict[str, Any] = {}
        for slider in self.sliders:
            if slider.moved:
                spec = field_spec(slider.name)
                made[slider.name] = restated(
                    machine.get(slider.name), slider.value * slider.size,
                    least=spec.low, most=spec.high,
                )  # fmt: skip
        if self.suppression:
            made["chain.hold_winding.suppression"] = _TABLES[self.suppression]
        return made

    @property
    def query(self) -> str:
        """All that is turned, as an address says it: values in the reader's units."""
        moved = {one.name: f"{one.value:g}" for one in self.sliders if one.moved}
        return urlencode(moved | ({"suppression": self.suppression} if self.suppression else {}))

    @property
    def changed(self) -> bool:
        """Whether anything but the cut and the piece stands elsewhere than in the file."""
        return bool(self.suppression) or any(slider.moved for slider in self.sliders)


@dataclass(frozen=True, slots=True)
class _Range:
    """What a slider can be moved over: its ends SI, its step in the reader's unit."""

    name: str
    label: str
    short: str
    low: float
    high: float
    step: float
    unit: str
    size: float

    def at(
        self, value: float, said: Mapping[str, str], wrong: dict[str, str], tolerance: str = ""
    ) -> Slider:
        """The slider where a person has it; without a word, or with a wrong one, at `value`, SI."""
        low, high = (
            round(end / self.size / self.step) * self.step for end in (self.low, self.high)
        )
        exact = value / self.size
        stands = exact
        text = said.get(self.name, "").strip()
        if text:
            try:
                stands = self._read(text)
                if not low - self.step <= stands <= high + self.step:
                    raise ValueError(
                        say(
                            "allowed: {low:g} to {high:g} {unit}",
                            low=low,
                            high=high,
                            unit=self.unit,
                        )
                    )
            except ValueError as error:
                wrong[self.name], stands = f"{shortened(text, 20)}: {error}", exact
        if abs(stands - exact) <= self.step / 2:
            stands = exact
        return Slider(
            self.name, self.label, self.short, round(low, 4), round(high, 4), self.step,
            round(stands, 4), round(exact, 4), self.unit, self.size, tolerance,
        )  # fmt: skip

    def _read(self, text: str) -> float:
        text = typed_quantity(text)
        bare = text.replace(".", "", 1)
        if bare.isascii() and bare.isdecimal():
            return float(text)
        return quantity(text, "voltage" if self.unit == "V" else "length").nominal / self.size


def turns_of(machine: Machine, said: Mapping[str, str], *, us: bool) -> Turns:
    """The sliders of a machine, at what a person has set, or as its file has them."""
    wrong: dict[str, str] = {}
    unit = ("in", INCH) if us else ("mm", 1e-3)
    offered = tuple(machine.feed.cut_lengths) if machine.feed else ()
    low, high = (min(offered), max(offered)) if offered else (0.004, 0.03)
    more = 0.2 * max(high - low, 0.002)
    over = _Range("cut", say("Cut length"), say("Cut"), max(low - more, 0.001), high + more,
                  0.01 if us else 0.1, *unit)  # fmt: skip
    cut = over.at(high if offered else 0.012, said, wrong)
    sliders = [
        one.at(given.nominal, said, wrong, in_file(given, us=us))
        for one, given in _ranges(machine, unit, us)
    ]
    suppression = said.get("suppression", AS_SET)
    if suppression not in ("", *SUPPRESSIONS):
        wrong["suppression"] = say("not one of: {names}", names=", ".join(SUPPRESSIONS))
        suppression = AS_SET
    has_winding = machine.chain is not None and machine.chain.hold_winding is not None
    piece = _piece(machine, said, wrong)
    meant = meant_by(typed(said.get("piece", ""))) if "piece" in wrong else ()
    mends = tuple((text, urlencode({**dict(said.items()), "piece": text})) for text in meant)
    there = said.get("piece", "").strip()[:MOST_PIECES] if "piece" in wrong else said_piece(piece)
    return Turns(cut, tuple(sliders), suppression, piece, offered, wrong, has_winding, mends, there)


def in_file(given: Quantity, *, us: bool) -> str:
    """A value with its tolerance in the reader's units, and as the file writes it, if otherwise.

    >>> in_file(quantity("3.4 mm +- 0.4 mm", "length"), us=False)
    '3.4 mm +- 0.4 mm'
    >>> in_file(quantity("3.4 mm +- 0.4 mm", "length"), us=True)
    '0.1339 in +- 0.01575 in (written 3.4 mm +- 0.4 mm)'
    """
    kind, text = DIMENSIONS[given.dimension], given.text
    if not text or (kind.us if us else kind.metric) in re.split(r"[\d\s.+-]+", text):
        return spelled_quantity(text) or given.shown(us=us)
    written = spelled_quantity(text)
    return say("{value} (written {text})", value=given.shown(us=us), text=written)


def _ranges(
    machine: Machine, unit: tuple[str, float], us: bool
) -> Iterator[tuple[_Range, Quantity]]:
    """What can be turned besides the cut, with the file's own value."""
    if machine.chain is None:
        return
    for pawl in machine.chain.pawls:
        if pawl.clearance is not None:
            name = f"chain.pawls.{pawl.name}.clearance"
            label = called(name)
            step = 0.005 if us else 0.1
            yield (
                _Range(name, label, as_written(pawl.name).capitalize(), 0.0, 0.01, step, *unit),
                pawl.clearance,
            )
    supply = machine.chain.supply
    if supply is not None:
        low, high = 0.6 * supply.nominal, 1.4 * supply.nominal
        label = called("chain.supply")
        yield _Range("chain.supply", label, say("Voltage"), low, high, 0.1, "V", 1.0), supply


def _piece(machine: Machine, said: Mapping[str, str], wrong: dict[str, str]) -> str:
    text = said.get("piece", "").strip()
    if not text:
        return str(machine.limits.must_stop)
    name = _english(text)
    try:
        if len(text) > MOST_PIECES:
            raise ValueError(say('"{text}" is too long for a piece', text=shortened(text, 30)))
        Piece.from_text(name)
    except (ValueError, TripmarginError) as error:
        wrong["piece"] = str(error).replace(name, text)
        return str(machine.limits.must_stop)
    return name


def _english(text: str) -> str:
    """A piece's English name: an address that was handed on may hold another reader's language."""
    name = typed_piece(typed(text))
    if name == text:
        for code in known_languages():
            with speaking(code):
                if (other := typed_piece(text)) != text:
                    return other
    return name


def piece_names(machine: Machine) -> list[str]:
    """Pieces to pick from, as they are said: the one to be stopped, balls, everyday metal."""
    balls = [f"{size} mm ball" for size in (10, 15, 20, 25, 30)]
    everyday = list(everyday_metal())
    names = dict.fromkeys([str(machine.limits.must_stop), *balls, *everyday])
    return [said_piece(name) for name in names]
