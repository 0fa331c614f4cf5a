"""The verdict's reasons in plain words: which stage, which blind spot, which setting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from tripmargin.ground.results import Spread
from tripmargin.ground.units import percent, shown
from tripmargin.machine import Machine
from tripmargin.protection.costs import stage_costs, stage_words
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.sensing.pieces import Piece
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


def a_piece(piece: str) -> str:
    """The piece with its article, as it is spoken: an M12 bolt, an 8 mm rod, a 20 mm ball."""
    spoken = piece.startswith(("M", "8", "11 ", "11.", "18 ", "18."))
    return f"{'an' if spoken else 'a'} {piece}"


def _sentence(words: str) -> str:
    """The words as a sentence begins with them; capitals inside them stay."""
    return words[:1].upper() + words[1:]


def _the(stage: str) -> str:
    """A stage as it stands in a sentence: the plunger's fall, coming to rest."""
    words = stage_words(stage)
    return words if stage == "rest" else f"the {words}"


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
                f"Even at {self._length(worst.cut_length)}, the least favourable cut,"
                f" {a_piece(worst.piece)} is caught and stopped with"
                f" {percent(1.0 - missed - late)}."
            )
        lines += self._nulls(nulls)
        lines += self._slow_stop(verdicts)
        lines += self._clearances()
        lines += self._early()
        lines += self._supply()
        return (*self._noise(), *lines)

    def _length(self, value: float) -> str:
        return shown(value, "length", us=self.us, digits=3)

    def _missed(self, missed: float, slow: bool) -> list[str]:
        worst = self.worst
        speed = shown(metal_speed(self.machine, worst.cut_length), "speed", us=self.us, digits=3)
        lines = [
            f"At {self._length(worst.cut_length)} the metal moves at {speed}:"
            f" {a_piece(worst.piece)} goes unseen with {percent(missed)}, over all places in the"
            f" crop.{' Slower feeding makes a smaller signal.' if slow else ''}"
        ]
        confidence = self.machine.limits.confidence.nominal
        if worst.worst_place is not None and worst.worst_place[2] < confidence:
            x, height, chance = worst.worst_place
            lines.append(
                f"The worst place is {self._across(x)}, {self._length(height)} above the roll:"
                f" stopped there with {percent(chance, confidence)}."
            )
        return lines

    def _across(self, x: float) -> str:
        """A place across the roll in words; as the file's own x counts them."""
        if abs(x) < 5e-4:
            return "the middle of the roll"
        side = "+x" if x > 0 else "-x"
        return f"{self._length(abs(x))} towards {side} from the middle of the roll"

    def _late(self, late: float) -> list[str]:
        (distance,) = self.machine.need("the race", "feed.sensor_to_shear_bar")
        worst = self.worst
        costs = stage_costs(self.machine, worst.cut_length)
        if worst.travel is None or worst.crossing_y is None:
            return []
        if not isfinite(worst.travel):
            stuck = " and ".join(_the(cost.what) for cost in costs if not isfinite(cost.margin))
            return [
                "With every input at its middle the stop never comes about, for a spring does not"
                f" beat what holds against it in {stuck}. The feed runs on."
            ]
        caught = worst.crossing_y
        side = "before" if caught < 0 else "behind"
        largest = max(costs, key=lambda cost: cost.margin)
        return [
            f"At {self._length(worst.cut_length)} {a_piece(worst.piece)} is caught about"
            f" {self._length(abs(caught))} {side} the sensor's axis,"
            f" {self._length(distance.nominal - caught)} from the shear bar, and travels"
            f" {self._travel(worst.travel)}; {percent(late)} comes too late.",
            f"The largest part of that way is {_the(largest.what)}:"
            f" {self._length(largest.margin)}.",
        ]

    def _travel(self, travel: Spread) -> str:
        """How much farther the metal goes; without a greatest where a part may stick."""
        nominal, low = self._length(travel.nominal), self._length(travel.low)
        if isfinite(travel.high):
            return f"{nominal} more ({low} to {self._length(travel.high)})"
        return (
            f"{nominal} more ({low} at least; within its limits the stop may never come about,"
            " and then the feed runs on)"
        )

    def _nulls(self, nulls: tuple[float, ...]) -> list[str]:
        lines, worst = [], self.worst
        for x in nulls:
            wide = [b - a for a, b in worst.unprotected_across if a - 1e-9 <= x <= b + 1e-9]
            lines.append(
                f"At {self._across(x)} the windings cancel: no metal of any size is seen on that"
                " line, so the worst place's smallest ball is 'none'."
            )
            if wide and wide[0] > 0:
                lines.append(
                    f"At mid height {a_piece(worst.piece)} is not safely stopped on a strip"
                    f" {self._length(wide[0])} wide there; of all places and heights"
                    f" {percent(worst.share_of_places or 0.0)} are protected."
                )
        return lines

    def _early(self) -> list[str]:
        """How much of the margin is owed to catching the piece ahead of the sensor's axis."""
        worst = self.worst
        if worst.crossing_y is None or worst.travel is None or worst.crossing_y > -_EARLY:
            return []
        if not isfinite(worst.travel):
            return []
        (distance,) = self.machine.need("the race", "feed.sensor_to_shear_bar")
        left = distance.nominal - worst.travel
        if left > _AMPLE * distance.nominal:
            return []
        where = "past" if left < 0 else "before"
        return [
            f"The margin leans on catching the metal ahead of the sensor's axis: tripped only above"
            f" it, the metal would come to rest {self._length(abs(left))} {where} the shear bar."
        ]

    def _slow_stop(self, verdicts: tuple[CutVerdict, ...]) -> list[str]:
        slow = [v for v in verdicts if v.stop_time_ok is False and v.stop_time is not None]
        if not slow:
            return []
        longest = max(slow, key=lambda v: v.stop_time or 0.0)
        if longest.stop_time is None or not isfinite(longest.stop_time):
            return []
        return [
            f"The stop takes {longest.stop_time * 1e3:.0f} ms at"
            f" {self._length(longest.cut_length)}, more than the"
            f" {self.machine.limits.stop_time.nominal * 1e3:.0f} ms asked for."
        ]

    def _clearances(self) -> list[str]:
        lines, window, chain = [], self.machine.limits.clearance, self.machine.chain
        for pawl in chain.pawls if chain is not None else ():
            gap = pawl.clearance
            if gap is None or window.low - 1e-9 <= gap.nominal <= window.high + 1e-9:
                continue
            lines.append(
                f"The {pawl.name} pawl's clearance of {self._length(gap.nominal)} is outside the"
                f" window of {self._length(window.low)} to {self._length(window.high)}."
            )
        return lines

    def _supply(self) -> list[str]:
        least = self.machine.get("detector.supply_minimum")
        supply = self.machine.get("chain.supply")
        if least is None or supply is None or supply.low >= least.nominal:
            return []
        return [
            f"The supply may fall to {supply.low:.1f} V, below the detector's"
            f" {least.nominal:.1f} V: it then trips or stays tripped, and the feed stands."
        ]

    def _noise(self) -> list[str]:
        noise = self.machine.get("detector.noise")
        threshold = self.machine.get("detector.threshold")
        if noise is None or threshold is None or noise.nominal * 4 <= threshold.nominal:
            return []
        return [
            f"The noise of {noise.nominal:.3g} V is over a quarter of the threshold of"
            f" {threshold.nominal:.3g} V: the detector trips by itself, and part of what is called"
            " caught here is that."
        ]


def too_thick(machine: Machine, pieces: Sequence[Piece], us: bool = False) -> tuple[str, ...]:
    """A sentence for each piece that does not fit between the rolls."""
    depth = machine.get("feed.crop_depth")
    return tuple(
        f"{_sentence(a_piece(piece.name))} is thicker than the opening between the rolls"
        f" ({shown(depth.high, 'length', us=us, digits=3)}): it cannot pass."
        for piece in pieces
        if depth is not None and 2 * piece.semi_axes.min() > depth.high
    )
