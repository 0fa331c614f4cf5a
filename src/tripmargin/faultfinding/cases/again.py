"""A look that is made again after a repair, and looks that do not fit together."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.cases.case import Case
from tripmargin.faultfinding.cases.case_lines import Entry
from tripmargin.faultfinding.suspects.machine_problem import CANNOT_TELL, SAW_ELSE


def shown_before(case: Case, check: str) -> Entry | None:
    """What a look showed before the last repair; None where it was not made, or was made since."""
    before = since = None
    for entry in case.entries:
        if entry.kind == "repair":
            before, since = since or before, None
        elif entry.get("check") == check:
            since = entry
    return before if since is None and check in case.of.questions else None


def unfit_pairs(case: Case) -> tuple[tuple[Entry, Entry], ...]:
    """Looks since the last repair of which no listed fault shows both, the latest pair first.

    Each of the two is shown by something. A fault that comes and goes may show what a sound machine
    does. Slips are left out: so either one of the two is a slip, or it is something not listed.
    """
    since: list[Entry] = []
    for entry in case.entries:
        if entry.kind == "repair":
            since = []
        elif entry.get("check") in case.of.questions:
            since.append(entry)
    shown = [(entry, _explains(case, entry)) for entry in since]
    told = [(entry, by) for entry, by in shown if by.any() and not by.all()]
    pairs = [(a, b) for (a, by), (b, also) in combinations(told, 2) if not (by & also).any()]
    return tuple(sorted(pairs, key=lambda pair: (-pair[1].n, -pair[0].n)))


def _explains(case: Case, entry: Entry) -> NDArray[np.bool_]:
    """Which hypotheses show what was found; (H,), all of them where nothing was."""
    of = case.of
    found = np.ones(len(of.hypotheses), bool)
    if entry["word"] not in (CANNOT_TELL, SAW_ELSE):
        look = next(each for each in of.looks if each.question.id == entry["check"])
        word = look.question.words.index(entry["word"])
        found = look.answers == word
        if word == 0:
            found |= np.array([each.shows < 1 for each in of.hypotheses])
        found[-1] = False
    return found
