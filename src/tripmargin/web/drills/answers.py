"""What is hidden in a drill of a class: for its trainer, and for the class once it is shown."""

from __future__ import annotations

from typing import Any

from tripmargin.drills import REGION_WORDS, drill, setting_drill
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.records.keeping.practices import on_of
from tripmargin.records.store.models import ClassDrill
from tripmargin.stopping.pawl_words import pawl_words
from tripmargin.stopping.setting.step_words import gap_words
from tripmargin.web.drills.kinds import FAULT, SETTING, STOP
from tripmargin.web.drills.questions import questions_on
from tripmargin.web.whats_wrong.keeper import problem_on


def answer_of(of: ClassDrill) -> str:
    """What is hidden, in words; where the machine is not read yet, that it is being read."""
    machine = on_of(of).loaded()
    try:
        if of.kind == FAULT:
            found = problem_on(machine)
            if found.problem is None:
                waits = say("The wiring is being read; look again in a moment.")
                return str(found.trouble) or waits
            return drill(found.problem, seed=of.seed).fault.text
        if of.kind == SETTING:
            hidden = setting_drill(machine, seed=of.seed).play.pawls.gaps
            gaps = (
                say("{pawl} {gap}", pawl=pawl_words(pawl), gap=gap_words(gap))
                for pawl, gap in hidden.items()
            )
            return say("Gaps that are found: {gaps}", gaps=", ".join(gaps))
        if of.kind == STOP:
            found = questions_on(machine, of.seed)
            if found.problem is None:
                waits = say("The pieces are being chosen; look again in a moment.")
                return str(found.trouble) or waits
            chosen: Any = found.problem
            return "; ".join(
                say("{number}. {region}", number=k, region=say(REGION_WORDS[each.region]))
                for k, each in enumerate(chosen.questions, 1)
            )
    except TripmarginError as error:
        return str(error)
    return ""
