"""The whole stop: its stages, how long it takes, how far the metal travels meanwhile."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tripmargin.ground.languages import later
from tripmargin.ground.results import Spread, plain
from tripmargin.machine import Machine
from tripmargin.stopping.feed import feed_speed, require_cut, tooth_pitch
from tripmargin.stopping.stages import pawls_of, rest_angle, serial_stages, swing_stage


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the stop; nominal, least and greatest time, s (models page, Quantities)."""

    name: str
    nominal: float
    low: float
    high: float
    by_parts: bool = False
    assumed: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "name": self.name,
            "nominal_s": self.nominal,
            "low_s": self.low,
            "high_s": self.high,
            "by_parts": self.by_parts,
            "assumed": list(self.assumed),
        }


@dataclass(frozen=True, slots=True)
class StopChain:
    """The stop at one cut length.

    Attributes
    ----------
    stages : tuple of Stage, in order
    stop_time : Spread, s
        What a stopwatch would show: from the crossing to the rolls' rest.
    catch_time : Spread, s
        From the crossing until the last pawl has caught.
    travel : Spread, m
        Of the metal, from the crossing to the rolls' rest.
    feed_speed : float, m/s
        Of the rolls' surface.
    """

    cut_length: float
    feed_speed: float
    stages: tuple[Stage, ...]
    stop_time: Spread
    catch_time: Spread
    travel: Spread
    assumed: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "cut_length_m": self.cut_length,
                "feed_speed_m_s": self.feed_speed,
                "stages": self.stages,
                "stop_time_s": self.stop_time,
                "catch_time_s": self.catch_time,
                "travel_m": self.travel,
                "assumed": self.assumed,
            }
        )
        return made


def stop_chain(machine: Machine, *, cut_length: float, **settings: Any) -> StopChain:
    """The stages of the stop and what they add up to, at one cut length.

    Parameters
    ----------
    machine : Machine
    cut_length : float, m
    **settings
        Fields set otherwise for a what-if, SI; see `Machine.with_settings`.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the stop needs.
    ValueError
        If the cut length is not positive and finite.

    Notes
    -----
    Models page, Stopping. The rolls' deceleration is taken as uniform.

    Examples
    --------
    >>> import tripmargin
    >>> machine = tripmargin.load_machine("whimbrel")
    >>> slow = stop_chain(machine, cut_length=0.012)
    >>> worn = stop_chain(machine, cut_length=0.012, clearance=0.008)
    >>> worn.travel > slow.travel
    True
    """
    require_cut(cut_length)
    if settings:
        machine = machine.with_settings(settings)
    serial = _serial(machine)
    branches = [_pawl_stages(machine, pawl.name, cut_length) for pawl in pawls_of(machine)]
    rest = _Rest.of(machine, cut_length)
    stages = (*serial, *(stage for pair in branches for stage in pair), rest.stage)

    def catch(which: str) -> float:
        before = sum(getattr(stage, which) for stage in serial)
        last = max(sum(getattr(stage, which) for stage in pair) for pair in branches)
        return float(before + last)

    catch_time = Spread(catch("nominal"), low=catch("low"), high=catch("high"))
    (slip,) = machine.need(later("the race"), "feed.slip")
    speeds = _roll_speeds(machine, cut_length)
    return StopChain(
        cut_length=cut_length,
        feed_speed=speeds[1],
        stages=stages,
        stop_time=Spread(
            catch_time.nominal + rest.stage.nominal,
            low=catch_time.low + rest.stage.low,
            high=catch_time.high + rest.stage.high,
        ),
        catch_time=catch_time,
        travel=_travel(
            machine, serial, branches, rest, speeds, (slip.low, slip.nominal, slip.high)
        ),
        assumed=tuple(sorted({a for stage in stages for a in stage.assumed})),
    )


def _serial(machine: Machine) -> tuple[Stage, ...]:
    """The stages before the pawls; they owe nothing to the cut."""
    made = []
    for model in serial_stages(machine):
        assumed = tuple(path for path, q in model.inputs if q.source == "assumed")
        for name, nominal, (low, high) in zip(
            model.names, model.nominal(), model.limits(), strict=True
        ):
            made.append(Stage(name, nominal, low, high, model.by_parts, assumed))
    return tuple(made)


def _roll_speeds(machine: Machine, cut_length: float) -> tuple[float, float, float]:
    """Surface speed of the rolls with the cutterhead slowest, nominal and fastest, m/s."""
    (speed,) = machine.need(later("the race"), "feed.cutterhead_speed")
    nominal = feed_speed(machine, cut_length)
    return nominal * speed.low / speed.nominal, nominal, nominal * speed.high / speed.nominal


def _pawl_stages(machine: Machine, name: str, cut_length: float) -> tuple[Stage, Stage]:
    """A pawl's swing, and its wait for a tooth: none to a whole pitch."""
    pawl = next(p for p in pawls_of(machine) if p.name == name)
    model = swing_stage(machine, pawl)
    (low, high), nominal = model.limits()[0], model.nominal()[0]
    assumed = tuple(path for path, q in model.inputs if q.source == "assumed")
    pitch = tooth_pitch(machine, name)
    slowest, middle, _ = _roll_speeds(machine, cut_length)
    return (
        Stage(f"swing {name}", nominal, low, high, model.by_parts, assumed),
        Stage(f"tooth {name}", 0.5 * pitch / middle, 0.0, pitch / slowest),
    )


@dataclass(frozen=True, slots=True)
class _Rest:
    """Coming to rest: the roll's angle at each speed, as surface, and the stage's times."""

    stage: Stage
    low: float  # m of roll surface, slowest cutterhead
    nominal: float
    high: float  # fastest cutterhead

    @classmethod
    def of(cls, machine: Machine, cut_length: float) -> _Rest:
        (diameter,) = machine.need(later("the race"), "feed.roll_diameter")
        radius = diameter.nominal / 2
        slowest, middle, fastest = _roll_speeds(machine, cut_length)
        at_slow, model, at_fast = (rest_angle(machine, v) for v in (slowest, middle, fastest))
        (low_slow, high_slow), (low_fast, high_fast) = at_slow.limits()[0], at_fast.limits()[0]
        nominal = model.nominal()[0] * radius
        times = [
            2 * angle * radius / v
            for v, ends in ((slowest, (low_slow, high_slow)), (fastest, (low_fast, high_fast)))
            for angle in ends
        ]
        assumed = tuple(path for path, q in model.inputs if q.source == "assumed")
        stage = Stage("rest", 2 * nominal / middle, min(times), max(times), model.by_parts, assumed)
        return cls(stage, low_slow * radius, nominal, high_fast * radius)


def _travel(
    machine: Machine,
    serial: tuple[Stage, ...],
    branches: list[tuple[Stage, Stage]],
    rest: _Rest,
    speeds: tuple[float, float, float],
    slips: tuple[float, float, float],
) -> Spread:
    """Travel at its least, middle and greatest; a tooth's wait is a length, whatever the speed."""
    pitches = [tooth_pitch(machine, swing.name.removeprefix("swing ")) for swing, _ in branches]

    def one(which: str, speed: float, slip: float, share: float, angle: float) -> float:
        before = speed * sum(getattr(stage, which) for stage in serial)
        catch = max(
            speed * getattr(swing, which) + share * pitch
            for (swing, _), pitch in zip(branches, pitches, strict=True)
        )
        return float((1 - slip) * (before + catch + angle))

    slowest, middle, fastest = speeds
    return Spread(
        one("nominal", middle, slips[1], 0.5, rest.nominal),
        low=one("low", slowest, slips[2], 0.0, rest.low),
        high=one("high", fastest, slips[0], 1.0, rest.high),
    )
