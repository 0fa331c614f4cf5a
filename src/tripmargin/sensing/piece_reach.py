"""Reach of one piece: how strong its signal is at each place, in every way that it may lie."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.phrases import Phrase
from tripmargin.ground.results import plain
from tripmargin.ground.tables.table_words import MATERIAL_FIRST
from tripmargin.machine import Machine
from tripmargin.sensing.detector import Filter, output_only, settling_time
from tripmargin.sensing.lines import REACH, averaged_fields, grid
from tripmargin.sensing.lying import half_height, ways_to_lie
from tripmargin.sensing.passing import FASTEST, by_eddy_currents, flux_linkages, peaks
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.sensor import sensor_of, sources
from tripmargin.sensing.tables import STEP

Array = NDArray[np.float64]
_PLACES, _HEIGHTS = 21, 5
ATTITUDES = ("worst", "typical", "best")


@dataclass(frozen=True, slots=True, eq=False)
class PieceReach:
    """The signal of one piece at one speed, over the threshold: from 1 on it is seen.

    Attributes
    ----------
    speed : float, m/s, of the metal
    places : ndarray, (x,), m;  heights : ndarray, (h,), m above the roll, of the piece's middle
    lying : tuple of str
        The ways it may lie that were computed, in words marked for the catalogues (`say(word)`); a
        word may stand for several directions.
    signal : ndarray, (a, h, x)
        Greatest |output| over the threshold for each, every input at its middle, noise left out;
        not a number where the piece would reach into the roll.
    """

    machine_name: str
    piece: str
    speed: float
    places: Array
    heights: Array
    lying: tuple[str, ...]
    signal: Array
    remarks: tuple[Phrase, ...]
    assumed: tuple[str, ...]

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know about the piece, in the language spoken now."""
        return tuple(str(remark) for remark in self.remarks)

    def at(self, attitude: str) -> Array:
        """The signal at each height and place, (h, x).

        Parameters
        ----------
        attitude : "worst", "typical" or "best"
            Of the ways it may lie at each place: the weakest signal, the middle one (as many are
            stronger as are weaker), the strongest.
        """
        share = {"worst": 0.0, "typical": 0.5, "best": 1.0}[attitude]
        return np.asarray(np.nanquantile(self.signal, share, axis=0))

    def lies(self, attitude: str) -> tuple[tuple[str, ...], ...]:
        """How it lies at each height and place where it is at its worst or best; rows of words."""
        at = (np.nanargmin if attitude == "worst" else np.nanargmax)(self.signal, axis=0)
        return tuple(tuple(self.lying[k] for k in row) for row in at)

    def mostly(self, attitude: str) -> tuple[str, float]:
        """How it lies at the most places where it is at its worst or best, and their share."""
        words = [word for row in self.lies(attitude) for word in row]
        often = max(dict.fromkeys(words), key=words.count)
        return often, words.count(often) / len(words)

    def seen(self, attitude: str) -> float:
        """Share of the places and heights at which the signal reaches the threshold."""
        return float(np.mean(self.at(attitude) >= 1.0))

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "machine": self.machine_name,
                "piece": self.piece,
                "speed_m_s": self.speed,
                "places_m": self.places,
                "heights_m": self.heights,
                "lying": self.lying,
                "signal_of_threshold": self.signal,
                "notes": self.notes,
                "assumed": self.assumed,
            }
        )
        return made


@dataclass(slots=True)
class PieceReaching:
    """A piece's reach while it is being worked out, one way to lie after the other.

    For who must not be kept waiting: `step` until `result` is there.
    """

    machine: Machine
    piece: Piece
    speed: float
    places: Array
    heights: Array
    ways: tuple[tuple[str, Piece], ...]
    found: list[Array]

    @classmethod
    def of(
        cls,
        machine: Machine,
        piece: Piece,
        *,
        speed: float,
        places: Sequence[float] | Array | None = None,
        heights: Sequence[float] | Array | None = None,
    ) -> PieceReaching:
        """Begin; see `piece_reach`."""
        if not 0 < speed <= FASTEST:
            raise ValueError(
                say(
                    "speed = {speed!r} m/s. Allowed: a positive speed up to {fastest:g} m/s.",
                    speed=speed,
                    fastest=FASTEST,
                )
            )
        what = later("the reach of a piece")
        width, depth, *_ = machine.need(
            what, "feed.roll_width", "feed.crop_depth", "feed.roll_diameter", "detector.threshold"
        )
        sensor_of(machine, what)
        Filter.of(machine)
        if places is None:
            places = np.linspace(-0.5, 0.5, _PLACES) * width.nominal
        if heights is None:
            heights = np.linspace(max(depth.low, 0.0), depth.high, _HEIGHTS)
        at, above = (np.atleast_1d(np.asarray(v, dtype=float)) for v in (places, heights))
        if not (np.isfinite(at).all() and np.isfinite(above).all() and len(at) and len(above)):
            raise ValueError(say("places and heights: finite lengths in metres are needed."))
        return cls(machine, piece, speed, at, above, ways_to_lie(piece), [])

    @property
    def share(self) -> float:
        """Share done, 0 to 1."""
        return len(self.found) / len(self.ways)

    def step(self) -> None:
        """One way to lie more; nothing where all are done."""
        if len(self.found) < len(self.ways):
            piece = self.ways[len(self.found)][1]
            signal = self._signal(piece)
            # Where no way has room, as for a ball larger than its height, the flattest stands in.
            flattest = min(half_height(one) for _, one in self.ways)
            signal[half_height(piece) > np.maximum(self.heights, flattest) + 1e-9] = np.nan
            self.found.append(signal)

    def _signal(self, piece: Piece) -> Array:
        """Signal over threshold at each height and place, (h, x)."""
        machine = self.machine
        sensor, filter_ = sensor_of(machine), Filter.of(machine)
        on = grid(step=STEP, behind=REACH + settling_time(filter_) * self.speed)
        angle = 0.0 if sensor.rotation is None else sensor.rotation.nominal
        radius = machine.get("feed.roll_diameter").nominal / 2
        height, place = (
            a.ravel() for a in np.meshgrid(self.heights + radius, self.places, indexing="ij")
        )
        fields = averaged_fields(sources(sensor), angle, piece, place, height, on)
        flux = flux_linkages(piece, *fields, on, self.speed)
        shown = slice(int(np.searchsorted(on.y, -REACH)), int(np.searchsorted(on.y, 2 * REACH)))
        top = peaks(output_only(flux, on.step / self.speed, filter_)[:, shown])
        threshold = machine.get("detector.threshold").nominal
        return np.asarray(top / threshold).reshape(len(self.heights), len(self.places))

    @property
    def result(self) -> PieceReach | None:
        """The reach; None while it is being worked out."""
        if len(self.found) < len(self.ways):
            return None
        return PieceReach(
            machine_name=self.machine.name,
            piece=self.piece.name,
            speed=self.speed,
            places=self.places,
            heights=self.heights,
            lying=tuple(words for words, _ in self.ways),
            signal=np.stack(self.found),
            remarks=_remarks(self.machine, self.piece),
            assumed=tuple(
                a for a in self.machine.assumed if a.startswith(("feed", "sensor", "detector"))
            ),
        )


def piece_reach(
    machine: Machine,
    piece: Piece,
    *,
    speed: float,
    places: Sequence[float] | Array | None = None,
    heights: Sequence[float] | Array | None = None,
    progress: Callable[[float], None] | None = None,
) -> PieceReach:
    """The signal of a piece at each place and height, in every way that it may lie.

    Parameters
    ----------
    machine : Machine
    piece : Piece
        One of which nobody said how it lies is turned every way, see `ways_to_lie`.
    speed : float, m/s
        Of the metal.
    places, heights : sequence of float, m, optional
        Across the roll, and above it; by default 21 over its width and 5 over `crop_depth`.
    progress : callable, optional
        Told the share done, 0 to 1.

    Raises
    ------
    NotKnownError
        If the machine file lacks the sensor, the gain, the threshold or a length needed.
    ValueError
        If the speed or a place cannot be.

    Notes
    -----
    Models page, Sensing: the fields are averaged along a long piece. A way to lie in which the
    piece would reach into the lower roll is left out at that height.

    Examples
    --------
    >>> import tripmargin
    >>> machine, bolt = tripmargin.load_machine("curlew"), Piece.from_text("M12x40 bolt")
    >>> seen = piece_reach(machine, bolt, speed=2.0, places=[0.1], heights=[0.03])
    >>> bool(seen.at("worst") < seen.at("typical")), bool(seen.at("typical") < seen.at("best"))
    (True, True)
    """
    work = PieceReaching.of(machine, piece, speed=speed, places=places, heights=heights)
    while (made := work.result) is None:
        work.step()
        if progress is not None:
            progress(work.share)
    return made


def _remarks(machine: Machine, piece: Piece) -> tuple[Phrase, ...]:
    made = []
    thin, depth = 2 * float(np.min(piece.semi_axes)), machine.get("feed.crop_depth")
    if thin > depth.high:
        made.append(
            Phrase(
                later("The piece is thicker than the opening between the rolls: it cannot pass.")
            )
        )
    if by_eddy_currents(piece):
        made.append(
            Phrase(
                later(
                    "{material} is hardly magnetic: what signal there is comes from the currents"
                    " that the moving field drives in it, as in a ball of its volume."
                ),
                {"material": Phrase(MATERIAL_FIRST[piece.material])},
            )
        )
    return tuple(made)
