"""What sets the pawls' gaps on one machine: the file's values, or assumed ones that are said."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.machine import Machine
from tripmargin.machine.adjuster_section import PawlAdjuster
from tripmargin.machine.chain_sections import Pawl
from tripmargin.stopping.stages import pawls_of

Array = NDArray[np.float64]
Source = Literal["given", "assumed", "learned"]

FEELER_STEP = "0.05 mm"
FEEL = 0.03e-3
"""m, standard deviation: how differently two hands feel one blade. Common practice, no source."""
ASSUMED = {
    "thread_pitch": ("1.5 mm", "length"),  # an M10 coarse thread, ISO 261
    "leverage": ("0.7 .. 1.3", "number"),
    "smallest_turn": ("180 deg", "angle"),
    "placed_within": ("0.2 mm", "length"),
    "tightening_shift": ("-0.2 mm .. 0.2 mm", "length"),
    "coupling": ("0 % .. 20 %", "fraction"),
    "season_drift": ("-0.1 mm .. 0.3 mm", "length"),
    "setting_range": ("8 mm", "length"),
}
"""What is taken for a field that the file leaves out. But for the pitch: common practice, no
source."""
_OF_KIND = {"clevis": ("placed_within",), "clamp": ("thread_pitch", "leverage", "smallest_turn")}


@dataclass(frozen=True, slots=True)
class Belief:
    """A number, its standard deviation, and where it is from; SI."""

    mean: float
    sd: float
    source: Source = "given"

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {"mean": self.mean, "sd": self.sd, "source": self.source}


@dataclass(frozen=True, slots=True)
class Adjuster:
    """What sets one pawl's gap; gaps open above zero.

    Attributes
    ----------
    pawl : str
    kind : "clevis" or "clamp"
    pitch : float, m
        Way along the thread in one turn.
    leverage : Belief
        Change of the gap over the way along the thread.
    smallest_turn : float
        In turns.
    turned_out : "opens", "closes" or None
        What turning the clevis out does; None: not known.
    placed_sd : float, m
        How near a hand places a clamp, standard deviation.
    shift : Belief, m
        How far the gap opens as it is tightened, on average.
    shift_scatter : float, m
        Standard deviation of one tightening about that average.
    coupling : Belief
        Share of its move by which each other gap moves.
    drift : Quantity, m
        How far the gap opens in a season.
    setting_range : float, m
    assumed : tuple of str
        Fields that the file leaves out.
    """

    pawl: str
    kind: str
    pitch: float
    leverage: Belief
    smallest_turn: float
    turned_out: str | None
    placed_sd: float
    shift: Belief
    shift_scatter: float
    coupling: Belief
    drift: Quantity
    setting_range: float
    assumed: tuple[str, ...] = ()

    @property
    def step(self) -> float:
        """Change of the gap by the smallest turn, m."""
        return self.leverage.mean * self.way

    @property
    def way(self) -> float:
        """Way along the thread in the smallest turn, m."""
        return self.pitch * self.smallest_turn

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = {"pawl": self.pawl, "kind": self.kind}
        if self.kind == "clevis":
            made |= {
                "thread_pitch_m": self.pitch,
                "leverage": self.leverage.to_dict(),
                "smallest_turn_turns": self.smallest_turn,
                "turned_out": self.turned_out,
            }
        else:
            made["placed_within_sd_m"] = self.placed_sd
        return made | {
            "tightening_shift_m": self.shift.to_dict(),
            "tightening_scatter_sd_m": self.shift_scatter,
            "coupling": self.coupling.to_dict(),
            "season_drift_m": self.drift.to_dict(),
            "setting_range_m": self.setting_range,
        }


@dataclass(frozen=True, slots=True)
class Adjusters:
    """Every pawl's adjuster, and what is asked of the gaps.

    Attributes
    ----------
    pawls : tuple of Adjuster, in the file's order
    window : (least, greatest), m
    confidence : float
        With which all gaps together must be inside the window.
    feeler_step : float, m
    assumed : tuple of str
        Fields that the file leaves out, each with what was taken.
    """

    pawls: tuple[Adjuster, ...]
    window: tuple[float, float]
    confidence: float
    feeler_step: float
    assumed: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The pawls' names."""
        return tuple(each.pawl for each in self.pawls)

    @property
    def reading_sd(self) -> float:
        """How far a reading is from the true gap, m: half a step either side, and the hand's feel.

        JCGM 100:2008, 4.3.7, for the half step.
        """
        return float(np.hypot(self.feeler_step / np.sqrt(12.0), FEEL))

    @property
    def confidence_each(self) -> float:
        """With which each gap must be inside for all of them to be."""
        return float(self.confidence ** (1 / len(self.pawls)))

    def column(self, of: str) -> Array:
        """One number of every adjuster, (k,): an attribute, or `mean` or `sd` of a belief."""
        first, _, second = of.partition(".")
        values = [getattr(each, first) for each in self.pawls]
        return np.array([getattr(v, second) if second else v for v in values], dtype=float)

    def set_sd(self) -> Array:
        """How far off a gap is once it was set, tightened and measured, m (k,)."""
        shift = self.column("shift.sd") ** 2 + self.column("shift_scatter") ** 2
        return np.asarray(np.sqrt(self.reading_sd**2 + shift))

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "pawls": [each.to_dict() for each in self.pawls],
            "window_m": list(self.window),
            "confidence": self.confidence,
            "feeler_step_m": self.feeler_step,
            "assumed": list(self.assumed),
        }


def adjusters_of(machine: Machine, *, feeler_step: float | None = None) -> Adjusters:
    """The adjusters as the machine file has them, the rest assumed.

    Parameters
    ----------
    machine : Machine
    feeler_step : float, m, optional
        Of the gauge in hand; by default the file's.

    Raises
    ------
    NotKnownError
        If the file has no pawls.
    ValueError
        If the step cannot be.
    """
    pawls = pawls_of(machine)
    assumed: list[str] = []
    made = []
    for place, pawl in enumerate(pawls):
        one = _adjuster(pawl, first=place == 0)
        made.append(one)
        assumed += one.assumed
    limits = machine.limits
    if "limits.clearance" in machine.assumed:
        assumed.append(f"limits.clearance ({limits.clearance.text})")
    chain = machine.chain
    assert chain is not None  # pawls_of found some
    if feeler_step is None:
        if chain.feeler_step is None:
            assumed.append(f"chain.feeler_step ({FEELER_STEP})")
        feeler_step = (chain.feeler_step or quantity(FEELER_STEP, "length")).nominal
    if not 1e-6 <= feeler_step <= 5e-3:
        raise ValueError(
            say(
                "feeler step: {step!r} m. Allowed: the step from one blade to the next, from"
                " 0.001 mm to 5 mm; in metres, 0.05 mm is 5e-5.",
                step=feeler_step,
            )
        )
    return Adjusters(
        tuple(made),
        (limits.clearance.low, limits.clearance.high),
        limits.confidence.nominal,
        feeler_step,
        tuple(assumed),
    )


def _adjuster(pawl: Pawl, *, first: bool) -> Adjuster:
    """One pawl's, by the trade's order: the first is turned on a thread, the others slide."""
    given = pawl.adjuster or PawlAdjuster(kind="clevis" if first else "clamp")
    place = f"chain.pawls.{pawl.name}.adjuster"
    assumed = [] if pawl.adjuster is not None else [f"{place}.kind ({given.kind})"]

    def value(name: str) -> tuple[Quantity, Source]:
        text, dimension = ASSUMED[name]
        written = getattr(given, name)
        if written is not None:
            return written, "given"
        if name not in _OF_KIND[given.kind]:
            low, between, high = text.partition(" .. ")
            words = say("{low} to {high}", low=low, high=high) if between else text
            assumed.append(f"{place}.{name} ({words})")
        return quantity(text, dimension).assumed(), "assumed"

    def belief(name: str) -> Belief:
        q, source = value(name)
        return Belief(q.nominal, q.sd, source)

    shift = belief("tightening_shift")
    # The file's limits are those of one tightening. Half of their variance is taken as what this
    # machine's average differs by, half as what one tightening differs from the next.
    half = shift.sd / np.sqrt(2.0)
    return Adjuster(
        pawl=pawl.name,
        kind=given.kind,
        pitch=value("thread_pitch")[0].nominal,
        leverage=belief("leverage"),
        smallest_turn=value("smallest_turn")[0].nominal / (2 * pi),
        turned_out=given.turned_out,
        placed_sd=value("placed_within")[0].nominal / float(np.sqrt(3.0)),  # between limits
        shift=Belief(shift.mean, float(half), shift.source),
        shift_scatter=float(half),
        coupling=belief("coupling"),
        drift=value("season_drift")[0],
        setting_range=value("setting_range")[0].nominal,
        assumed=tuple(assumed),
    )
