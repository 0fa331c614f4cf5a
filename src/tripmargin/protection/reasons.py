"""The verdict's reasons in plain words: which stage, which blind spot, which setting."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.results import Spread
from tripmargin.ground.units import percent, shown
from tripmargin.machine import Machine
from tripmargin.protection.costs import stage_costs, the_stage
from tripmargin.protection.state_reasons import clearances, loud_noise, low_supply, slow_stop
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.sensing.piece_said import a_piece
from tripmargin.stopping.feed import metal_speed

_EARLY = 0.02  # m
_AMPLE = 0.3  # of the way to the shear bar: a margin that leans on nothing
_WORTH_SAYING = 1e-4  # a share of failures smaller than this explains nothing


def reasons(
    machine: Machine,
    worst: CutVerdict,
    verdicts: tuple[CutVerdict, ...],
    nulls: tuple[float, ...],
    us: bool = False,
) -> tuple[str, ...]:
    """Plain sentences, the most telling first.

    Parameters
    ----------
    machine : Machine
    worst : CutVerdict
        Of the least favourable cut: the one that the reasons are about.
    verdicts : tuple of CutVerdict
        Of every cut.
    nulls : tuple of float, m
        Places that are blind to every piece.
    us : bool
        US units instead of metric.
    """
    return _Teller(machine, worst, us).reasons(verdicts, nulls)


@dataclass(frozen=True, slots=True)
class _Teller:
    """The worst cut of a machine, told in one system of units."""

    machine: Machine
    worst: CutVerdict
    us: bool

    def reasons(
        self, verdicts: tuple[CutVerdict, ...], nulls: tuple[float, ...]
    ) -> tuple[str, ...]:
        """Every reason there is, the most telling first."""
        worst, lines = self.worst, []
        missed = 1.0 - (worst.seen or 0.0)
        late = (worst.seen or 0.0) * (1.0 - (worst.stopped_if_seen or 0.0))
        best = max((v.seen or 0.0 for v in verdicts), default=0.0)
        slow = best > 1.0 - missed + 0.02
        blocks = [(missed, True), (late, False)]
        for share, unseen in sorted(blocks, reverse=True):
            if share > _WORTH_SAYING:
                lines += self._missed(share, slow) if unseen else self._late(share)
        if not lines:
            lines.append(
                say(
                    "Even at {cut}, the least favourable cut, {piece} is caught and stopped with"
                    " {chance}.",
                    cut=self._length(worst.cut_length),
                    piece=a_piece(worst.piece),
                    chance=percent(1.0 - missed - late),
                )
            )
        lines += self._nulls(nulls)
        lines += slow_stop(self.machine, verdicts, self.us)
        lines += clearances(self.machine, self.us)
        lines += self._early()
        lines += low_supply(self.machine)
        return (*loud_noise(self.machine), *lines)

    def _length(self, value: float) -> str:
        return shown(value, "length", us=self.us, digits=3)

    def _missed(self, missed: float, slow: bool) -> list[str]:
        worst = self.worst
        speed = shown(metal_speed(self.machine, worst.cut_length), "speed", us=self.us, digits=3)
        unseen = say(
            "At {cut} the metal moves at {speed}: {piece} goes unseen with {chance}, over all"
            " places in the crop.",
            cut=self._length(worst.cut_length),
            speed=speed,
            piece=a_piece(worst.piece),
            chance=percent(missed),
        )
        if slow:
            slower = say("Slower feeding makes a smaller signal.")
            unseen = f"{unseen} {slower}"
        lines = [unseen]
        confidence = self.machine.limits.confidence.nominal
        if worst.worst_place is not None and worst.worst_place[2] < confidence:
            x, height, chance = worst.worst_place
            lines.append(
                say(
                    "The worst place is {place}, {height} above the roll: stopped there with"
                    " {chance}.",
                    place=self._across(x),
                    height=self._length(height),
                    chance=percent(chance, confidence),
                )
            )
        return lines

    def _across(self, x: float) -> str:
        """A place across the roll in words; as the file's own x counts them."""
        if abs(x) < 5e-4:
            return say("the middle of the roll")
        return say(
            "{distance} towards {side} from the middle of the roll",
            distance=self._length(abs(x)),
            side="+x" if x > 0 else "-x",
        )

    def _late(self, late: float) -> list[str]:
        (distance,) = self.machine.need(later("the race"), "feed.sensor_to_shear_bar")
        worst = self.worst
        costs = stage_costs(self.machine, worst.cut_length)
        if worst.travel is None or worst.crossing_y is None:
            return []
        if not isfinite(worst.travel):
            stuck = listed(the_stage(cost.what) for cost in costs if not isfinite(cost.margin))
            return [
                say(
                    "With every input at its middle the stop never comes about, for a spring does"
                    " not beat what holds against it in {stages}. The feed runs on.",
                    stages=stuck,
                )
            ]
        largest = max(costs, key=lambda cost: cost.margin)
        return [
            self._caught_late(late, worst.crossing_y, worst.travel, distance.nominal),
            say(
                "The largest part of that way is {stage}: {way}.",
                stage=the_stage(largest.what),
                way=self._length(largest.margin),
            ),
        ]

    def _caught_late(self, late: float, caught: float, travel: Spread, distance: float) -> str:
        """Where it is caught, and how far it goes from there."""
        values = {
            "cut": self._length(self.worst.cut_length),
            "piece": a_piece(self.worst.piece),
            "ahead": self._length(abs(caught)),
            "left": self._length(distance - caught),
            "travel": self._travel(travel),
            "late": percent(late),
        }
        if caught < 0:
            return say(
                "At {cut} {piece} is caught about {ahead} before the sensor's axis, {left} from"
                " the shear bar, and travels {travel}; {late} comes too late.",
                **values,
            )
        return say(
            "At {cut} {piece} is caught about {ahead} behind the sensor's axis, {left} from the"
            " shear bar, and travels {travel}; {late} comes too late.",
            **values,
        )

    def _travel(self, travel: Spread) -> str:
        """How much farther the metal goes; without a greatest where a part may stick."""
        nominal, low = self._length(travel.nominal), self._length(travel.low)
        if isfinite(travel.high):
            return say(
                "{nominal} more ({low} to {high})",
                nominal=nominal,
                low=low,
                high=self._length(travel.high),
            )
        return say(
            "{nominal} more ({low} at least; within its limits the stop may never come about, and"
            " then the feed runs on)",
            nominal=nominal,
            low=low,
        )

    def _nulls(self, nulls: tuple[float, ...]) -> list[str]:
        lines, worst = [], self.worst
        for x in nulls:
            wide = [b - a for a, b in worst.unprotected_across if a - 1e-9 <= x <= b + 1e-9]
            lines.append(
                say(
                    "At {place} the windings cancel: no metal of any size is seen on that line, so"
                    " the worst place's smallest ball is 'none'.",
                    place=self._across(x),
                )
            )
            if wide and wide[0] > 0:
                lines.append(
                    say(
                        "At mid height {piece} is not safely stopped on a strip {wide} wide there;"
                        " of all places and heights {share} are protected.",
                        piece=a_piece(worst.piece),
                        wide=self._length(wide[0]),
                        share=percent(worst.share_of_places or 0.0),
                    )
                )
        return lines

    def _early(self) -> list[str]:
        """How much of the margin is owed to catching the piece ahead of the sensor's axis."""
        worst = self.worst
        if worst.crossing_y is None or worst.travel is None or worst.crossing_y > -_EARLY:
            return []
        if not isfinite(worst.travel):
            return []
        (distance,) = self.machine.need(later("the race"), "feed.sensor_to_shear_bar")
        left = distance.nominal - worst.travel
        if left > _AMPLE * distance.nominal:
            return []
        if left < 0:
            return [
                say(
                    "The margin leans on catching the metal ahead of the sensor's axis: tripped"
                    " only above it, the metal would come to rest {way} past the shear bar.",
                    way=self._length(abs(left)),
                )
            ]
        return [
            say(
                "The margin leans on catching the metal ahead of the sensor's axis: tripped only"
                " above it, the metal would come to rest {way} before the shear bar.",
                way=self._length(left),
            )
        ]
