"""A "would it stop?" drill as its page shows it: one piece of metal, and what may come of it."""

from __future__ import annotations

from typing import Any

from django.http import QueryDict

from tripmargin import drills as d
from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.languages import say
from tripmargin.records.keeping.practices import PracticeError
from tripmargin.web.drills.stop_pictures import map_with, place_of

LEAST, MOST, USUAL = 34, 100, 80
"""Per cent: how sure somebody is; below the first another outcome would be likelier."""
OUTCOMES = (d.MISSED, d.TOO_LATE, d.PROTECTED)


def stop_page(
    drill: d.WouldItStop,
    *,
    us: bool,
    told: bool,
    said: QueryDict,
    width: float,
    sun: bool,
) -> dict[str, Any]:
    """The context of the page.

    Parameters
    ----------
    drill : WouldItStop
    us : bool
    told : bool
        Whether what was calculated is told of the pieces that were answered.
    said : QueryDict
        What was sent, where it could not be taken.
    width : float, px
        Of the pictures, at most.
    sun : bool
        Greatest contrast.
    """
    drawn: dict[str, Any] = {"width": width, "sun": sun, "us": us}
    now = drill.now
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
        "map_of_last": map_with(drill, last.question, **drawn) if last is not None and told else "",
        "answered_last": last is not None,
        "place_of_now": place_of(now, **drawn) if now is not None else "",
        "facts": d.machine_words(drill.machine, us=us),
    }


def stop_steps(said: QueryDict) -> list[tuple[str, str]]:
    """The answer that the form gives, as `drills.Answer` reads it.

    Raises
    ------
    PracticeError
        If no outcome is chosen.
    """
    outcome = said.get("outcome", "")
    if said.get("move") == d.DOUBTFUL:
        return [(d.ANSWER, d.DOUBTFUL)]
    if not outcome:
        raise PracticeError(
            say("Nothing is chosen: say what comes of the piece, or “I cannot say”.")
        )
    sure = typed(said.get("sure", "").strip())
    return [(d.ANSWER, f"{outcome} {sure}".strip() if sure != "100" else outcome)]
