"""A "would it stop?" drill as its page shows it: one piece of metal, and what may come of it."""

from __future__ import annotations

from typing import Any

from django.http import QueryDict

from tripmargin import drills as d
from tripmargin.ground.languages import say
from tripmargin.ground.units import shown
from tripmargin.machine import Machine

LEAST, MOST, USUAL = 34, 100, 80
"""Per cent: how sure somebody is; below the first another outcome would be likelier."""
OUTCOMES = (d.MISSED, d.TOO_LATE, d.PROTECTED)


def stop_page(drill: d.WouldItStop, *, us: bool, told: bool, said: QueryDict) -> dict[str, Any]:
    """The context of the page.

    Parameters
    ----------
    drill : WouldItStop
    us : bool
    told : bool
        Whether what was calculated is told of the pieces that were answered.
    said : QueryDict
        What was sent, where it could not be taken.
    """
    machine, now = drill.machine, drill.now
    last = drill.answered[-1] if drill.answered else None
    return {
        "cautions": (),
        "asked": d.asked_words(now, us=us) if now is not None else (),
        "number": len(drill.answered) + 1,
        "count": len(drill.questions),
        "outcomes": [(each, say(d.REGION_WORDS[each]), say(d.MEANINGS[each])) for each in OUTCOMES],
        "doubtful": (d.DOUBTFUL, say(d.MEANINGS[d.DOUBTFUL])),
        "least": LEAST,
        "most": MOST,
        "sure": said.get("sure", str(USUAL)),
        "chosen": said.get("outcome", ""),
        "points_of_last": last.points if last is not None and told else None,
        "told_of_last": d.told_words(last.question, us=us) if last is not None and told else (),
        "answered_last": last is not None,
        "facts": _facts(machine, us),
    }


def _facts(machine: Machine, us: bool) -> tuple[str, ...]:
    """What anybody at the machine could look up."""
    (bar,) = machine.need("would it stop?", "feed.sensor_to_shear_bar")
    cuts = machine.feed.cut_lengths if machine.feed is not None else ()
    magnets = () if machine.sensor is None else machine.sensor.assemblies
    return (
        say("From the sensor's axis to the shear bar: {bar}.", bar=bar.shown(us=us)),
        say("Cuts on offer: {cuts}.", cuts=", ".join(_mm(cut, us) for cut in cuts)),
        say(
            "Magnets, across from the roll's middle: {places}.",
            places=", ".join(_mm(each.centre[0].nominal, us) for each in magnets),
        ),
    )


def _mm(length: float, us: bool) -> str:
    return shown(length, "length", us=us, digits=3)


def stop_steps(said: QueryDict) -> list[tuple[str, str]]:
    """The answer that the form gives, as `drills.Answer` reads it."""
    outcome = said.get("outcome", "")
    if said.get("move") == d.DOUBTFUL:
        return [(d.ANSWER, d.DOUBTFUL)]
    sure = said.get("sure", "").strip()
    return [(d.ANSWER, f"{outcome} {sure}".strip() if sure != "100" else outcome)]
