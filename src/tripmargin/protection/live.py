"""Protection while a person turns settings: map, race and verdict in moments.

What the sensor sees owes nothing to clearances, supply or suppression, so it is looked up once a
machine and kept; a step works out the stop alone. A setting that the sensor does know of is looked
up anew, which takes a second or two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from threading import RLock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, say
from tripmargin.ground.results import Spread, plain
from tripmargin.machine import Machine
from tripmargin.protection.bench import Bench
from tripmargin.protection.judging import Judge
from tripmargin.protection.map_sight import MapSight
from tripmargin.protection.mapping import ProtectionMap, map_grid, map_of, protection_map
from tripmargin.protection.proving import missing, stop_alone
from tripmargin.protection.racing import Race, race_of
from tripmargin.protection.remembered import Remembered
from tripmargin.protection.sights import Sights, sensed
from tripmargin.protection.spots import Spot
from tripmargin.protection.stage_memory import StageMemory
from tripmargin.protection.stops import Stops
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping.feed import require_cut

Array = NDArray[np.float64]
REMEMBERED = 4
"""Machines kept in memory: some 60 MB each, 130 where the piece may lie in any attitude."""
MOST_LIVE_CELLS = 4000
_CAUGHT = 8  # of samples kept: those of one cut, or two
OFF = 0.01
"""No chance of a quick step is farther from a proof's than this."""
QUICK = later(
    "Quick figures, for a setting that is still being turned: no chance is off by more than"
    " 0.01. A proof gives the exact ones."
)


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """A machine with some settings turned, at one cut.

    Attributes
    ----------
    machine : Machine
        With the settings.
    protection_map : ProtectionMap or None
        None where it is not known.
    race : Race or None
        About the piece asked for; without one, or where the sensor's side is not known, with the
        crossing above the sensor's axis. None where the stop is not known.
    verdict : CutVerdict or None
        On the piece asked for, or on the one that must be stopped. None where nothing is known.
    needs : tuple of str
        Fields that are missing for what is not known.
    quick : str
        Says that these are quick figures, each chance within `OFF` of a proof's; `say` says it in
        the reader's language. Empty: every number is that of `protection_map`, `race` and `prove`.
    """

    machine: Machine
    cut_length: float
    protection_map: ProtectionMap | None
    race: Race | None
    verdict: CutVerdict | None
    needs: tuple[str, ...] = ()
    quick: str = ""

    @property
    def margin(self) -> Spread | None:
        """The race's margin, m."""
        return self.race.margin if self.race is not None else None

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "machine": self.machine.name,
                "changed": self.machine.changed,
                "cut_length_m": self.cut_length,
                "protection_map": self.protection_map,
                "race": self.race,
                "verdict": self.verdict,
                "needs": self.needs,
                "quick": say(self.quick) if self.quick else "",
            }
        )
        return made


class _Seen:
    """What the sensor of one machine sees, and the map's half of it. One thread at a time."""

    def __init__(self, sights: Sights, cuts: Array, sizes: Array) -> None:
        self.lock = RLock()
        self.sights = sights
        self.for_map = MapSight.of(sights, cuts, sizes)


class LiveProtection:
    """A machine whose settings can be turned; keep it, for it keeps what the sensor sees.

    Safe between threads: those that ask about different settings of one machine wait for each
    other only while the same tables are read.

    Parameters
    ----------
    machine : Machine
    cut_lengths, diameters : sequence of float, m, optional
        The map's, as for `protection_map`; 4000 cells at most.

    Raises
    ------
    ValueError
        If a length cannot be, or there are too many.

    Examples
    --------
    >>> import tripmargin
    >>> live = LiveProtection(tripmargin.load_machine("whimbrel"), diameters=[0.015, 0.02])
    >>> near, far = (live.at(cut_length=0.012, clearance=gap) for gap in (0.003, 0.006))
    >>> near.margin > far.margin
    True
    """

    def __init__(
        self,
        machine: Machine,
        *,
        cut_lengths: Sequence[float] | Array | None = None,
        diameters: Sequence[float] | Array | None = None,
    ) -> None:
        self.machine = machine
        self._cuts, self._sizes = cut_lengths, diameters
        self._require_grid()
        self._stages = StageMemory(machine)
        self._seen = Remembered[tuple[object, ...], _Seen](2)
        self._stops = Remembered[tuple[Machine, bool], Stops](4)
        self._maps = Remembered[tuple[object, ...], ProtectionMap](8)
        self._spots = Remembered[tuple[object, ...], Spot](8)

    def at(
        self,
        *,
        cut_length: float,
        piece: Piece | str | None = None,
        x: float | None = None,
        height: float | None = None,
        whole: bool = False,
        **settings: Any,
    ) -> Turned:
        """The machine with some settings turned, at one cut.

        Parameters
        ----------
        cut_length : float, m
        piece : Piece or text, optional
            For the race and the verdict; without one the race has none, and the verdict is on
            `limits.must_stop`.
        x, height : float, m, optional
            Place of the piece in the race, as for `race`.
        whole : bool
            Spare nothing: every number is then that of `protection_map`, `race` and `prove`. For
            when the person has let go of the slider; takes several times as long.
        **settings
            Fields set otherwise, SI; see `Machine.with_settings`.

        Raises
        ------
        MachineFileError
            If a field is unknown or a value is not allowed.
        ValueError
            If the cut length, the place or the piece cannot be.
        """
        require_cut(cut_length)
        machine = self.machine.with_settings(settings) if settings else self.machine
        wanted = Piece.from_text(piece) if isinstance(piece, str) else piece
        judged = wanted or Piece.from_text(machine.limits.must_stop)
        try:
            return self._known(machine, cut_length, wanted, judged, (x, height), whole)
        except NotKnownError as error:
            needs = missing(machine) or error.needs
            return self._not_known(machine, cut_length, judged, tuple(needs), whole)

    def _require_grid(self) -> None:
        """Refuse a map that cannot be before any machine is asked."""
        cuts, sizes = map_grid(
            self.machine, [1.0] if self._cuts is None else self._cuts, self._sizes
        )
        if len(cuts) * len(sizes) > MOST_LIVE_CELLS:
            raise ValueError(
                say(
                    "{cuts} cut lengths x {diameters} diameters. Allowed: {most} cells at most in a"
                    " live map.",
                    cuts=len(cuts),
                    diameters=len(sizes),
                    most=MOST_LIVE_CELLS,
                )
            )

    def _stop(self, machine: Machine, whole: bool) -> Stops:
        return self._stops.get((machine, whole), lambda: self._stages.stops(machine, whole=whole))

    def _known(
        self,
        machine: Machine,
        cut: float,
        wanted: Piece | None,
        judged: Piece,
        place: tuple[float | None, float | None],
        whole: bool,
    ) -> Turned:
        stops = self._stop(machine, whole)
        cuts, sizes = self._grid(machine, cut)
        every = cuts if cuts[0] <= cut <= cuts[-1] else np.unique(np.append(cuts, cut))
        only = sensed(machine, self.machine.limits)
        seen = self._seen.get(
            (only, every.tobytes(), sizes.tobytes()),
            lambda: _Seen(Sights(only, every.tolist(), remember=_CAUGHT), cuts, sizes),
        )
        spot = None
        if wanted is not None:
            spot = self._spots.get(
                (only, cut, wanted, place), lambda: Spot.of(only, cut, wanted, *place)
            )
        with seen.lock:
            bench = Bench(machine, [cut], sights=seen.sights, stops=stops)
            verdict = Judge(bench).verdict(judged, cut, fine=whole)
            made = self._maps.get(
                (machine, every.tobytes(), whole),
                lambda: _map(machine, seen, stops, whole=whole),
            )
        raced = race_of(stops, cut, spot, fine=whole)
        return Turned(machine, cut, made, raced, verdict, quick="" if whole else QUICK)

    def _grid(self, machine: Machine, cut: float) -> tuple[Array, Array]:
        """The map's cuts and sizes, m; the cut alone where the machine offers none."""
        offered = machine.feed.cut_lengths if machine.feed is not None else ()
        alone = self._cuts is None and not offered
        return map_grid(machine, [cut] if alone else self._cuts, self._sizes)

    def _not_known(
        self, machine: Machine, cut: float, judged: Piece, needs: tuple[str, ...], whole: bool
    ) -> Turned:
        """What the stop alone can tell."""
        try:
            stops = self._stop(machine, whole)
            verdict = stop_alone(stops, cut, judged, fine=whole)
            raced = race_of(stops, cut, None, fine=whole)
        except NotKnownError:
            return Turned(machine, cut, None, None, None, needs)
        return Turned(machine, cut, None, raced, verdict, needs, "" if whole else QUICK)


def _map(machine: Machine, seen: _Seen, stops: Stops, *, whole: bool) -> ProtectionMap:
    cuts, sizes = seen.for_map.cuts, seen.for_map.sizes
    if whole:
        bench = Bench(machine, cuts.tolist(), sights=seen.sights, stops=stops)
        return protection_map(machine, cut_lengths=cuts, diameters=sizes, bench=bench)
    return map_of(machine, cuts, sizes, seen.for_map.parts(stops))


_LIVE = Remembered[Machine, LiveProtection](REMEMBERED)


def live_protection(machine: Machine) -> LiveProtection:
    """A machine's live protection; of the last few machines it is remembered."""
    return _LIVE.get(machine, lambda: LiveProtection(machine))
