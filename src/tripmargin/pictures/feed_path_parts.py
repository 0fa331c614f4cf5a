"""The feed path as the machine file gives it: sizes in side view, and what it leaves out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import degrees
from typing import Any, Protocol

from tripmargin.pictures.data import RaceLike

# Stand-ins where the file gives no size, m: only so that something can be drawn, dashed.
_RADIUS, _BAR, _CROP = 0.09, 0.25, 0.08
_TEETH = 12


class MachineLike(Protocol):
    """What a feed path is drawn from: a machine's fields by their paths."""

    @property
    def name(self) -> str:
        """What people call it."""

    @property
    def assumed(self) -> tuple[str, ...]:
        """Fields of the machine file that were not given."""

    def get(self, path: str) -> Any:
        """The value at a dotted path; None where it is not given."""


class FeedRaceLike(RaceLike, Protocol):
    """A race with the speeds of rolls and metal."""

    @property
    def feed_speed(self) -> float:
        """Of the rolls' surface, m/s."""

    @property
    def metal_speed(self) -> float:
        """Of the metal, m/s."""


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle of the sensor's section: its middle from the roll's axis, and its size, m."""

    kind: str  # "magnet", "winding" or "keeper"
    y: float
    z: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class PawlParts:
    """A pawl and its ratchet, as far as the file knows them."""

    name: str
    teeth: int | None
    ratio: float | None  # turns of the ratchet for one of the roll
    clearance: float | None  # m


@dataclass(frozen=True, slots=True)
class FeedPath:
    """Sizes of the feed path, m; None: the machine file does not say.

    Attributes
    ----------
    radius : float or None, m
        Of the lower front roll, over the flutes.
    bar : tuple of float or None, m
        From above the roll's axis to the shear bar: nominal, least, greatest.
    crop : float or None, m
        Greatest height of the crop above the roll's top.
    middle : float or None, m
        Half way between the least and the greatest height at which pieces travel.
    blocks : tuple of Block
        The sensor as written, before it is turned.
    rotation : float, degrees
        Of the sensor about the roll's axis, right-handed about +x (against the clock here).
    """

    radius: float | None
    bar: tuple[float, float, float] | None
    crop: float | None
    middle: float | None
    blocks: tuple[Block, ...]
    rotation: float
    pawls: tuple[PawlParts, ...]
    crop_assumed: bool = False

    @property
    def drawn_radius(self) -> float:
        """Of the lower roll as drawn, m."""
        return self.radius if self.radius is not None else _RADIUS

    @property
    def drawn_bar(self) -> tuple[float, float, float]:
        """Place of the shear bar as drawn, m."""
        return self.bar if self.bar is not None else (_BAR, _BAR, _BAR)

    @property
    def drawn_crop(self) -> float:
        """Height of the crop as drawn, m."""
        return self.crop if self.crop else _CROP

    def for_race(self, race: RaceLike) -> FeedPath:
        """With the race's own way to the shear bar, which may be a what-if."""
        bar = race.sensor_to_shear_bar
        return replace(self, bar=(bar.nominal, bar.low, bar.high))

    def pawl(self, name: str) -> PawlParts:
        """The pawl of that name, or one that nothing is known about."""
        found = (pawl for pawl in self.pawls if pawl.name == name)
        return next(found, PawlParts(name, None, None, None))


def feed_path_of(machine: MachineLike) -> FeedPath:
    """What the machine file says about its feed path.

    Examples
    --------
    >>> import tripmargin
    >>> round(feed_path_of(tripmargin.load_machine("whimbrel")).radius, 6)
    0.102
    """
    get = machine.get
    diameter, bar = get("feed.roll_diameter"), get("feed.sensor_to_shear_bar")
    depth, rotation = get("feed.crop_depth"), get("sensor.rotation")
    return FeedPath(
        radius=None if diameter is None else diameter.nominal / 2,
        bar=None if bar is None else (bar.nominal, bar.low, bar.high),
        crop=None if depth is None else depth.high,
        middle=None if depth is None else depth.nominal,
        blocks=tuple(dict.fromkeys(_blocks(machine))),
        rotation=0.0 if rotation is None else degrees(rotation.nominal),
        pawls=tuple(_pawls(get("chain.pawls") or ())),
        crop_assumed="feed.crop_depth" in machine.assumed,
    )


def drawn_teeth(pawl: PawlParts) -> int:
    """Teeth of the ratchet as drawn; a stand-in where the file does not say, or gives too many."""
    return _TEETH if pawl.teeth is None or not 4 <= pawl.teeth <= 48 else pawl.teeth


def _blocks(machine: MachineLike) -> Iterator[Block]:
    keeper = machine.get("sensor.keeper")
    if keeper is not None:
        y, z = (q.nominal for q in keeper.centre[1:])
        width, height = (q.nominal for q in keeper.size[1:])
        yield Block("keeper", y, z, width, height)
    for assembly in machine.get("sensor.assemblies") or ():
        y, z = (q.nominal for q in assembly.centre[1:])
        if assembly.magnet is not None:
            width, height = (q.nominal for q in assembly.magnet.size[1:])
            yield Block("magnet", y, z, width, height)
        if assembly.coil is not None:
            inner, outer = assembly.coil.inner[1].nominal, assembly.coil.outer[1].nominal
            wide = (outer - inner) / 2
            for side in (-1, 1):
                off = y + side * (inner + outer) / 4
                yield Block("winding", off, z, wide, assembly.coil.height.nominal)


def _pawls(pawls: Sequence[Any]) -> Iterator[PawlParts]:
    for pawl in pawls:
        teeth, ratio = pawl.ratchet_teeth, pawl.ratchet_turns_per_roll_turn
        yield PawlParts(
            pawl.name,
            None if teeth is None else int(teeth.nominal),
            None if ratio is None else ratio.nominal,
            None if pawl.clearance is None else pawl.clearance.nominal,
        )
