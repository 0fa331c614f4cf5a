"""Where the doubt comes from, and what to measure next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine, all_fields
from tripmargin.protection.bench import Bench
from tripmargin.protection.seeing import HEIGHT, PLACE, Glimpse, Sample
from tripmargin.protection.sensitivity import first_order_shares
from tripmargin.sensing.pieces import Piece
from tripmargin.stopping import feed_speed
from tripmargin.stopping.feed import tooth_pitch
from tripmargin.stopping.stages import StageModel, pawls_of, rest_angle, serial_stages, swing_stage

Array = NDArray[np.float64]
_N = 2048
_DEAR = 512  # where a stage is followed from its parts
_FAR = 10.0  # m


@dataclass(frozen=True, slots=True)
class Measure:
    """An input whose better knowledge would shrink the doubt, and by how much.

    Attributes
    ----------
    field : str
        Path in the machine file.
    share : float
        Of the doubt's variance that this input explains by itself.
    doubt, doubt_after : float
        Standard deviation of what is in doubt, now and with this input known exactly; m for a
        margin, a factor's logarithm for the signal.
    about : "margin" or "signal"
    how : str
        How to measure it.
    """

    field: str
    written: str
    share: float
    doubt: float
    doubt_after: float
    about: str
    assumed: bool
    how: str

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        unit = "m" if self.about == "margin" else "ln"
        return {
            "field": self.field,
            "written": self.written,
            "share_of_variance": self.share,
            "about": self.about,
            f"doubt_{unit}": self.doubt,
            f"doubt_after_{unit}": self.doubt_after,
            "assumed": self.assumed,
            "how": self.how,
        }


@dataclass(frozen=True, slots=True)
class Situation:
    """A piece at one place and cut. `scale`: its signal over that of `piece` (a ball's: d^3)."""

    piece: Piece
    cut_length: float
    place: float
    height: float
    scale: float = 1.0


class MarginModel:
    """The margin as a function of every uncertain input and of each pawl's tooth phase."""

    def __init__(self, bench: Bench, situation: Situation) -> None:
        machine = bench.machine
        self.bench, self.machine, self.situation = bench, machine, situation
        self.speed = feed_speed(machine, situation.cut_length)
        self.serial = serial_stages(machine)
        self.pawls = pawls_of(machine)
        self.swings = [swing_stage(machine, pawl) for pawl in self.pawls]
        self.pitches = [tooth_pitch(machine, pawl.name) for pawl in self.pawls]
        found: dict[str, Quantity] = {}
        self.rest = rest_angle(machine, self.speed)
        self._known: dict[tuple[object, ...], Array] = {}
        for model in (*self.serial, *self.swings, self.rest):
            found.update(model.uncertain)
        for path in (
            "feed.cutterhead_speed",
            "feed.slip",
            "feed.sensor_to_shear_bar",
            "sensor.rotation",
            "detector.threshold",
        ):
            if (q := machine.get(path)) is not None and q.uncertain:
                found[path] = q
        found.update(bench.strength.inputs)
        self.inputs = tuple(found.items())
        self.phases = tuple(f"phase {pawl.name}" for pawl in self.pawls)

    def values(self, cube: Array) -> dict[str, Array]:
        """Inputs and phases (0 to 1) at points of the unit cube (n, inputs + pawls)."""
        made = {path: q.ppf(u) for (path, q), u in zip(self.inputs, cube.T, strict=False)}
        phases = cube[:, len(self.inputs) :].T
        return made | dict(zip(self.phases, phases, strict=True))

    def _times(self, model: StageModel, values: dict[str, Array], n: int) -> Array:
        """A stage's times; of draws already followed they are remembered.

        One input is changed at a time, and most stages do not know it.
        """
        known = {path: values[path] for path, _ in model.inputs if path in values}
        key = (model.names, *(hash(column.tobytes()) for column in known.values()))
        if key not in self._known:
            self._known[key] = np.broadcast_to(sum(model.at(known)), (n,))
        return self._known[key]

    def travel(self, values: dict[str, Array]) -> Array:
        """Travel of the metal from the crossing, m."""
        machine = self.machine
        n = len(next(iter(values.values())))

        def get(path: str) -> Array:
            return values.get(path, np.full(n, machine.get(path).nominal))

        turning = machine.get("feed.cutterhead_speed").nominal
        rolls = self.speed * get("feed.cutterhead_speed") / turning
        before = np.zeros(n)
        for model in self.serial:
            before = before + self._times(model, values, n)
        catch = np.zeros(n)
        for swing, pitch, phase in zip(self.swings, self.pitches, self.phases, strict=True):
            catch = np.maximum(catch, self._times(swing, values, n) + values[phase] * pitch / rolls)
        angle = self._times(self.rest, values, n)
        radius = machine.get("feed.roll_diameter").nominal / 2
        return np.asarray((1 - get("feed.slip")) * (rolls * (before + catch) + angle * radius))

    def glimpse(self, values: dict[str, Array]) -> Glimpse:
        """What the sensor makes of the piece, for each draw."""
        n, where = len(next(iter(values.values()))), self.situation
        held = {PLACE: np.full(n, where.place), HEIGHT: np.full(n, where.height)}
        sample = Sample(self.machine, values | held, np.full(n, 1 / n))
        return self.bench.sight_near(where.piece, sample, self.speed).at(self.speed)

    def crossing(self, values: dict[str, Array]) -> Array:
        """Where the piece crosses the threshold, m; where it is never caught, at its peak."""
        return np.asarray(self.glimpse(values).caught(np.array([[self.situation.scale]]))[1][0])

    def margin(self, cube: Array) -> Array:
        """The margin at points of the unit cube, m (n,)."""
        values = self.values(cube)
        bar = values.get(
            "feed.sensor_to_shear_bar",
            np.full(len(cube), self.machine.get("feed.sensor_to_shear_bar").nominal),
        )
        # A part that sticks lets the metal travel without end: far beyond any shear bar will do.
        travel = np.minimum(self.travel(values), _FAR)
        return np.asarray(bar - self.crossing(values) - travel)


def measure_next(bench: Bench, situation: Situation, *, about: str) -> tuple[Measure, ...]:
    """Inputs in the order in which knowing them exactly would shrink the doubt.

    Parameters
    ----------
    bench : Bench
    situation : Situation
    about : "margin" or "signal"
        Which doubt: whether caught metal stops in time, or whether it is caught at all.

    Returns
    -------
    tuple of Measure
        The five largest, none below 1 % of the variance. Chance itself (the tooth phases, the place
        of the metal) is in the variance and not among them.
    """
    model = MarginModel(bench, situation)
    if not model.inputs:
        return ()
    if about == "margin":
        dear = any(m.by_parts and len(m.uncertain) > 1 for m in model.serial)
        shares, moments = first_order_shares(
            model.margin,
            len(model.inputs) + len(model.phases),
            _DEAR if dear else _N,
        )
    else:
        shares, moments = first_order_shares(
            lambda cube: _log_signal(model, cube), len(model.inputs), _N
        )
    doubt = float(np.sqrt(moments[1]))
    order = np.argsort(-shares[: len(model.inputs)])[:5]
    how = {_plain(field.path): field.spec for field in all_fields()}
    made = []
    for i in order:
        path, q = model.inputs[i]
        share = float(min(shares[i], 1.0))
        if share < 0.01 or doubt == 0:
            continue
        spec = how.get(_plain(_unnamed(bench.machine, path)))
        made.append(
            Measure(
                path,
                q.text,
                share,
                doubt,
                doubt * float(np.sqrt(1 - share)),
                about,
                q.source == "assumed",
                spec.measure if spec else "",
            )
        )
    return tuple(made)


def _log_signal(model: MarginModel, cube: Array) -> Array:
    """Logarithm of peak over threshold at points of the unit cube."""
    phases = np.zeros((len(cube), len(model.phases)))
    glimpse = model.glimpse(model.values(np.hstack([cube, phases])))
    top = model.situation.scale * glimpse.peak
    return np.asarray(np.log(np.maximum(top, 1e-12) / glimpse.sample.get("detector.threshold")))


def _plain(path: str) -> str:
    return path.replace("[]", "")


def _unnamed(machine: Machine, path: str) -> str:
    """A path without the names or numbers of tables: chain.pawls.x for chain.pawls.lower.x."""
    names = {pawl.name for pawl in machine.chain.pawls} if machine.chain is not None else set()
    return ".".join(p for p in path.split(".") if p not in names and not p.isdecimal())
