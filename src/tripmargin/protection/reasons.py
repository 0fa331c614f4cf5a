"""The verdict's reasons in plain words: which stage, which blind spot, which setting."""

from __future__ import annotations

from math import isfinite

from tripmargin.machine import Machine
from tripmargin.protection.costs import stage_costs
from tripmargin.protection.verdicts import CutVerdict
from tripmargin.stopping.feed import metal_speed

_WORTH_SAYING = 1e-4  # a share of failures smaller than this explains nothing

_STAGES = {
    "decision_delay": "the detector's decision",
    "relay_release": "the relay's release",
    "release": "the hold winding's decay",
    "plunger": "the plunger's fall",
    "rest": "coming to rest",
}


def reasons(
    machine: Machine, worst: CutVerdict, verdicts: tuple[CutVerdict, ...], nulls: tuple[float, ...]
) -> tuple[str, ...]:
    """Plain sentences, the most telling first."""
    lines: list[str] = []
    missed = 1.0 - (worst.seen or 0.0)
    late = (worst.seen or 0.0) * (1.0 - (worst.stopped_if_seen or 0.0))
    blocks = [(missed, _missed), (late, _late)]
    for share, explain in sorted(blocks, key=lambda block: -block[0]):
        if share > _WORTH_SAYING:
            lines += explain(machine, worst, share)
    if not lines:
        lines.append(
            f"Even at {_mm(worst.cut_length)}, the least favourable cut, {_a(worst.piece)} is"
            f" caught and stopped with {percent(1.0 - missed - late)}."
        )
    lines += _nulls(worst, nulls)
    lines += _settings(machine, verdicts)
    return tuple(lines)


def _mm(length: float) -> str:
    return f"{length * 1e3:.3g} mm" if isfinite(length) else "any distance"


def _a(piece: str) -> str:
    """The piece with its article, as it is spoken: an M12 bolt, an 8 mm rod, a 20 mm ball."""
    spoken = piece.startswith(("M", "8", "11 ", "11.", "18 ", "18."))
    return f"{'an' if spoken else 'a'} {piece}"


def percent(share: float) -> str:
    """A probability as people read it: 99.97 %, and never 100 % where some doubt is left.

    >>> percent(0.5), percent(0.99973), percent(1 - 3e-7)
    ('50 %', '99.97 %', 'over 99.999 %')
    """
    if share >= 1.0:
        return "100 %"
    if share > 0.99999:
        return "over 99.999 %"
    if 0 < share < 0.00001:
        return "under 0.001 %"
    digits = 1 if 0.01 <= share <= 0.99 else 2 if 0.0005 <= share <= 0.9995 else 3
    return f"{100 * share:.{digits}f}".rstrip("0").rstrip(".") + " %"


def _missed(machine: Machine, worst: CutVerdict, missed: float) -> list[str]:
    speed = metal_speed(machine, worst.cut_length)
    lines = [
        f"At {_mm(worst.cut_length)} the metal moves at {speed:.2f} m/s:"
        f" {_a(worst.piece)} goes unseen with {percent(missed)}, over all places in the crop."
        " Slower feeding makes a smaller signal."
    ]
    if worst.worst_place is not None and worst.worst_place[2] < 0.99:
        x, height, chance = worst.worst_place
        lines.append(
            f"The worst place is {_across(x)}, {_mm(height)} above the roll: stopped there with"
            f" {percent(chance)}."
        )
    return lines


def _across(x: float) -> str:
    """A place across the roll in words; as the file's own x counts them."""
    if abs(x) < 5e-4:
        return "the middle of the roll"
    return f"{_mm(abs(x))} towards {'+x' if x > 0 else '-x'} from the middle of the roll"


def _late(machine: Machine, worst: CutVerdict, late: float) -> list[str]:
    (distance,) = machine.need("the race", "feed.sensor_to_shear_bar")
    costs = stage_costs(machine, worst.cut_length)
    largest = max(costs, key=lambda cost: cost.margin)
    name = _STAGES.get(largest.what, f"the {largest.what} pawl's stage")
    if largest.what.startswith(("swing", "tooth")):
        kind, pawl = largest.what.split(" ", 1)
        name = f"the {pawl} pawl's {'swing' if kind == 'swing' else 'wait for a tooth'}"
    travel, caught = worst.travel, worst.crossing_y
    if travel is None or caught is None:
        return []
    if not isfinite(travel):
        stuck = [_STAGES.get(c.what, f"the {c.what}") for c in costs if not isfinite(c.margin)]
        return [
            f"With every input at its middle the stop never ends, for a spring does not beat what"
            f" holds against it in {' and '.join(stuck)}. The feed runs on."
        ]
    side = "before" if caught < 0 else "behind"
    room = distance.nominal - caught
    return [
        f"At {_mm(worst.cut_length)} {_a(worst.piece)} is caught about {_mm(abs(caught))} {side}"
        f" the sensor's axis, {_mm(room)} from the shear bar, and travels {_mm(travel.nominal)} more"
        f" ({_mm(travel.low)} to {_mm(travel.high)}); {percent(late)} comes too late.",
        f"The largest part of that way is {name}: {_mm(largest.margin)}.",
    ]


def _nulls(worst: CutVerdict, nulls: tuple[float, ...]) -> list[str]:
    lines = []
    for x in nulls:
        wide = [b - a for a, b in worst.unprotected_across if a - 1e-9 <= x <= b + 1e-9]
        lines.append(
            f"At {_across(x)} the windings cancel: no metal of any size is seen on that line, so"
            " the worst place's smallest ball is 'none'."
        )
        if wide and wide[0] > 0:
            lines.append(
                f"At mid height {_a(worst.piece)} is not safely stopped on a strip"
                f" {_mm(wide[0])} wide there; of all places and heights"
                f" {percent(worst.share_of_places or 0.0)} are protected."
            )
    return lines


def _settings(machine: Machine, verdicts: tuple[CutVerdict, ...]) -> list[str]:
    lines = []
    limits, chain = machine.limits, machine.chain
    slow = [v for v in verdicts if v.stop_time_ok is False]
    longest = max((v.stop_time.nominal for v in slow if v.stop_time is not None), default=0.0)
    if slow and isfinite(longest):
        lines.append(
            f"The stop takes {longest * 1e3:.0f} ms at {_mm(slow[0].cut_length)}, more than the"
            f" {limits.stop_time.nominal * 1e3:.0f} ms asked for."
        )
    for pawl in chain.pawls if chain is not None else ():
        gap = pawl.clearance
        if gap is not None and not (
            limits.clearance.low - 1e-9 <= gap.nominal <= limits.clearance.high + 1e-9
        ):
            lines.append(
                f"The {pawl.name} pawl's clearance of {_mm(gap.nominal)} is outside the window of"
                f" {_mm(limits.clearance.low)} to {_mm(limits.clearance.high)}."
            )
    least = machine.get("detector.supply_minimum")
    supply = machine.get("chain.supply")
    if least is not None and supply is not None and supply.low < least.nominal:
        lines.append(
            f"The supply may fall to {supply.low:.1f} V, below the detector's"
            f" {least.nominal:.1f} V: it then trips or stays tripped, and the feed stands."
        )
    return lines
