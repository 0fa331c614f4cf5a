"""Races of one machine in many situations; what the stop takes is worked out once a setting."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tripmargin.machine import Machine
from tripmargin.protection import Race
from tripmargin.protection.racing import race_of
from tripmargin.protection.spots import Spot
from tripmargin.protection.stops import Stops
from tripmargin.sensing import Pass, Piece, simulate_pass
from tripmargin.stopping.feed import metal_speed


@dataclass(frozen=True, slots=True)
class Situation:
    """What is asked about.

    Attributes
    ----------
    piece : str
        As `Piece.from_text` reads it, with how it lies.
    cut_length : float, m
    x, height : float or None, m
        Place of its centre, across from the roll's middle and above the lower roll; None as in
        `protection.race`: over the first magnet, at the middle height.
    settings : mapping
        Fields set otherwise than in the machine's file; see `Machine.with_settings`.
    """

    piece: str
    cut_length: float
    x: float | None
    height: float | None
    settings: Mapping[str, Any] = field(default_factory=dict)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "piece": self.piece,
            "cut_length_m": self.cut_length,
            "x_m": self.x,
            "height_m": self.height,
            "settings": dict(self.settings),
        }


@dataclass(slots=True)
class Races:
    """One machine's races; the same numbers as `protection.race`, only sooner."""

    machine: Machine
    _set: dict[str, Machine] = field(default_factory=dict)
    _stops: dict[str, Stops] = field(default_factory=dict)

    def set_machine(self, settings: Mapping[str, Any]) -> Machine:
        """The machine with what is set otherwise."""
        key = repr(dict(settings))
        if key not in self._set:
            self._set[key] = self.machine.with_settings(settings) if settings else self.machine
        return self._set[key]

    def stops(self, settings: Mapping[str, Any]) -> Stops:
        """Its stop, so set."""
        key = repr(dict(settings))
        if key not in self._stops:
            self._stops[key] = Stops(self.set_machine(settings))
        return self._stops[key]

    def race(self, at: Situation) -> Race:
        """The race of a situation.

        Raises
        ------
        NotKnownError
            If the machine file lacks what the race needs.
        ValueError
            If the cut, the place, the piece or a setting cannot be.
        """
        piece = Piece.from_text(at.piece)
        spot = Spot.of(self.set_machine(at.settings), at.cut_length, piece, at.x, at.height)
        return race_of(self.stops(at.settings), at.cut_length, spot)

    def one_pass(self, at: Situation, piece: Piece | None = None) -> Pass:
        """The signal of a situation, every input at its middle; of another piece where given."""
        machine = self.set_machine(at.settings)
        assert at.x is not None
        assert at.height is not None
        return simulate_pass(
            machine, piece or Piece.from_text(at.piece), x=at.x, height=at.height,
            speed=metal_speed(machine, at.cut_length),
        )  # fmt: skip
