"""Why the gaps aimed at lie where they do, in words, metric or US."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from tripmargin.ground.languages import say
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.units import percent, shown
from tripmargin.stopping.pawl_words import pawl_words
from tripmargin.stopping.setting.adjusters import Adjusters
from tripmargin.stopping.setting.aiming import Aim, Aims
from tripmargin.stopping.setting.step_words import between, gap_words

Costs = Sequence[tuple[float, float]]


def aim_words(adjusters: Adjusters, aims: Aims, costs: Costs, us: bool = False) -> tuple[str, ...]:
    """Why the aim lies where it does: one sentence for each gap aimed at."""
    alike: dict[str, list[Aim]] = {}
    for each in aims.pawls:
        alike.setdefault(gap_words(each.gap, us), []).append(each)
    several = len(aims.pawls) > 1
    return tuple(
        _because(_aim_at(gap, group if several else []), group, adjusters, aims, costs, us)
        for gap, group in alike.items()
    )


def _aim_at(gap: str, group: list[Aim]) -> str:
    """What is aimed at, and for which pawls where there are several."""
    pawls = [pawl_words(each.pawl) for each in group]
    if not pawls:
        return say("Aim at {gap}", gap=gap)
    if len(pawls) == 1:
        return say("Aim at {gap} for the {pawl} pawl", gap=gap, pawl=pawls[0])
    return say("Aim at {gap} for the {pawls} pawls", gap=gap, pawls=listed(pawls))


def _because(
    aim: str, group: list[Aim], adjusters: Adjusters, aims: Aims, costs: Costs, us: bool
) -> str:
    if not all(each.sure_enough for each in group):
        return say(
            "{aim}: no gap is inside {window} with {sure} until it is set again, for feeler,"
            " tightening and drift take too much of it; this is the surest, with {least}.",
            aim=aim,
            window=between(*adjusters.window, us),
            sure=percent(adjusters.confidence),
            least=percent(min(each.inside for each in group)),
        )
    if aims.needs:
        return say(
            "{aim}: what the race says is not known without {needs}, so it is the gap with the most"
            " room for feeler, tightening and a season's drift.",
            aim=aim,
            needs=", ".join(aims.needs),
        )
    if not aims.cuts:
        return say(
            "{aim}: what the race says is not known, as no cut is on offer, so it is the gap with"
            " the most room for feeler, tightening and a season's drift.",
            aim=aim,
        )
    if not any(each.race_matters for each in group):
        return say(
            "{aim}: anywhere in the window the stop is in time as surely, so it is the gap with the"
            " most room for feeler, tightening and a season's drift.",
            aim=aim,
        )
    known = [pair for pair in costs if isfinite(pair[1])]
    if not known:  # a part that sticks: the stop may never come about, whatever the gap
        return say(
            "{aim}: the smallest gap that leaves room for feeler, tightening and drift.", aim=aim
        )
    return _worth(aim, max(known, key=lambda pair: pair[1]), adjusters.window[0], us)


def _worth(aim: str, dearest: tuple[float, float], low: float, us: bool) -> str:
    """What some gap costs at the cut where it costs most."""
    cut, cost = dearest
    values = {
        "aim": aim,
        "way": gap_words(cost * (0.04 * 0.0254 if us else 1e-3), us),
        "cut": shown(cut, "length", us=us, digits=3),
        "low": gap_words(low, us),
    }
    if us:
        return say(
            "{aim}: each {step:.2f} in of gap costs {way} of travel at the {cut} cut, and still"
            " less would leave too little room above {low} for feeler, tightening and drift.",
            step=0.04,
            **values,
        )
    return say(
        "{aim}: each millimetre of gap costs {way} of travel at the {cut} cut, and still less would"
        " leave too little room above {low} for feeler, tightening and drift.",
        **values,
    )
