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
        self._judges(()).chances(self.piece, float(cut_lengths[0]), fine=False)

    def _judge(self, gaps: tuple[tuple[str, Quantity], ...]) -> Judge:
        machine = with_gaps(self.machine, dict(gaps))
        stops = Stops(machine, quick_densities(machine))
        return Judge(Bench(machine, [], sights=self.sights, stops=stops))

    def in_time(self, gaps: Mapping[str, Quantity], cut_length: float) -> float:
        """Chance of a stop in time, given that the piece is seen; see `stopping.setting.InTime`."""
        found = self._judges(tuple(gaps.items())).chances(self.piece, cut_length, fine=False)
        seen = float(found.too_late) + float(found.protected)
        return float(found.protected) / seen if seen > 0 else 0.0

    def verdict(self, gaps: Mapping[str, Quantity], cut_length: float) -> CutVerdict:
        """The verdict with these gaps at one cut, within 0.01 of a proof's chances."""
        return self._judges(tuple(gaps.items())).verdict(self.piece, cut_length, fine=False)
