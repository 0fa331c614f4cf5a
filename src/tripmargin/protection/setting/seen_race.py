"""The race as the sensor sees it: how surely the must-stop piece is stopped in time, if seen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.protection.bench import Bench
from tripmargin.protection.judging import Judge
from tripmargin.protection.sights import Progress, Sights
from tripmargin.protection.stops import Stops
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping.setting import quick_densities, with_gaps


class SeenRace:
    """One machine's race with any gaps: what the sensor sees is looked up once.

    Parameters
    ----------
    machine : Machine
    cut_lengths : sequence of float, m
    progress : callable, optional
        Told the share done of each table of passes, 0 to 1.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the sensor needs.
    """

    def __init__(
        self, machine: Machine, cut_lengths: Sequence[float], progress: Progress | None = None
    ) -> None:
        self.machine = machine
        self.piece = Piece.from_text(machine.limits.must_stop)
        self.sights = Sights(machine, list(cut_lengths), progress, remember=8)
        self._judges = lru_cache(maxsize=4)(self._judge)
        # After each reading the same gaps are asked about again: those that are aimed at.
        self._in_time = lru_cache(maxsize=2048)(self._chance)
        self._verdicts = lru_cache(maxsize=64)(self._verdict)
        self._judges(()).chances(self.piece, float(cut_lengths[0]), fine=False)

    def _judge(self, gaps: tuple[tuple[str, Quantity], ...]) -> Judge:
        machine = with_gaps(self.machine, dict(gaps))
        stops = Stops(machine, quick_densities(machine))
        return Judge(Bench(machine, [], sights=self.sights, stops=stops))

    def in_time(self, gaps: Mapping[str, Quantity], cut_length: float) -> float:
        """Chance of a stop in time, given that the piece is seen; see `stopping.setting.InTime`."""
        return self._in_time(tuple(gaps.items()), cut_length)

    def verdict(self, gaps: Mapping[str, Quantity], cut_length: float) -> CutVerdict:
        """The verdict with these gaps at one cut, within 0.01 of a proof's chances."""
        return self._verdicts(tuple(gaps.items()), cut_length)

    def _chance(self, gaps: tuple[tuple[str, Quantity], ...], cut_length: float) -> float:
        found = self._judges(gaps).chances(self.piece, cut_length, fine=False)
        seen = float(found.too_late) + float(found.protected)
        return float(found.protected) / seen if seen > 0 else 0.0

    def _verdict(self, gaps: tuple[tuple[str, Quantity], ...], cut_length: float) -> CutVerdict:
        return self._judges(gaps).verdict(self.piece, cut_length, fine=False)
