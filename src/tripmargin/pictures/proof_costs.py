"""What stages and settings cost of a proof's margin; what to measure next; what was measured."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, isfinite, isnan
from typing import TYPE_CHECKING

from tripmargin.ground.languages import say
from tripmargin.ground.typed import spelled_quantity
from tripmargin.pictures.axes import INCH

if TYPE_CHECKING:
    from tripmargin.machine.ageing import MeasuredInput
    from tripmargin.protection import Cost, Measure, Proof


def cost_tables(
    proof: Proof, us: bool
) -> Iterator[tuple[str, tuple[str, ...], list[tuple[str, ...]]]]:
    """The stages' part of the way, and what settings set otherwise would take or give."""
    stages = [cost for cost in proof.costs if cost.kind == "stage"]
    settings = [cost for cost in proof.costs if cost.kind != "stage"]
    if stages:
        yield (
            say("Stages: how far the metal goes in each, at the worst cut"),
            (say("stage"), say("takes")),
            [(cost.words(us), _way(cost.margin, us)) for cost in stages],
        )
    if settings:
        yield (
            say("What if: the margin that one change takes or gives, at the worst cut"),
            (say("change"), say("margin")),
            [(cost.words(us), cost_words(cost, us)) for cost in settings],
        )


def _way(margin: float, us: bool) -> str:
    if not isfinite(margin):
        return say("never ends")
    if us:
        return say("{way:.3f} in", way=margin / INCH)
    return say("{way:.1f} mm", way=margin / 1e-3)


def cost_words(cost: Cost, us: bool) -> str:
    """What a change does to the margin: takes some, gives some, or decides whether it stops."""
    if isnan(cost.margin):
        return say("still never stops")
    if not isfinite(cost.margin):
        return say("never stops") if cost.margin == inf else say("then it stops")
    shown = round(cost.margin / INCH, 3) if us else round(cost.margin / 1e-3, 1)
    if not shown:
        return say("hardly changes")
    way = _way(abs(cost.margin), us)
    return say("takes {way}", way=way) if cost.margin > 0 else say("gives {way}", way=way)


def measure_words(measure: Measure) -> str:
    """Which field to measure, and how much of the doubt is its."""
    from tripmargin.ground.units import percent

    value = say("now {value}", value=spelled_quantity(measure.written))
    if measure.assumed:
        value = say("assumed {value}", value=spelled_quantity(measure.written))
    share = percent(measure.share)
    if measure.about == "margin":
        return say(
            "{field} ({value}): {share} of the doubt about the margin.",
            field=measure.field,
            value=value,
            share=share,
        )
    return say(
        "{field} ({value}): {share} of the doubt about the signal.",
        field=measure.field,
        value=value,
        share=share,
    )


def measured_words(one: MeasuredInput, us: bool) -> str:
    """One measured input: its value, day, who, with what, and what its age does to it."""
    measured = _measured(one, us)
    if one.drift is None:
        return say(
            "{measured}; no drift is stated, so {years:.1f} years change nothing.",
            measured=measured,
            years=one.seasons,
        )
    return say(
        "{measured}; taken as {value} after {years:.1f} years at {drift} a year.",
        measured=measured,
        value=one.now.shown(us=us),
        years=one.seasons,
        drift=one.drift,
    )


def _measured(one: MeasuredInput, us: bool) -> str:
    """The value and the day, and who measured it with what, where that is known."""
    told = {"field": one.field, "value": one.filed.shown(us=us), "day": one.on.isoformat()}
    if one.by and one.how:
        return say(
            "{field}: {value}, measured {day} by {who} with {what}",
            **told,
            who=one.by,
            what=one.how,
        )
    if one.by:
        return say("{field}: {value}, measured {day} by {who}", **told, who=one.by)
    if one.how:
        return say("{field}: {value}, measured {day} with {what}", **told, what=one.how)
    return say("{field}: {value}, measured {day}", **told)
