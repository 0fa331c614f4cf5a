"""What a class should talk about: from the results of one drill that several have played."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tripmargin.drills import moves as m
from tripmargin.drills.refusals import UNPROVED
from tripmargin.drills.results import DrillResult
from tripmargin.drills.scoring import NOT_MENDED
from tripmargin.drills.setting_play import UNSEEN
from tripmargin.drills.told import repair_said, said
from tripmargin.faultfinding.cases.cautions import AT_REST, LIVE
from tripmargin.ground.languages import later, say
from tripmargin.stopping.setting.step_words import CAUTIONS

IN_A_LINE = (
    (AT_REST, later("Engine off, key out, at rest, feed rolls blocked.")),
    (CAUTIONS, later("Engine off, key out, rolls and pawls blocked.")),
    (LIVE, later("Key on: fingers away from plunger and pawls.")),
    ((UNPROVED,), later("Nothing goes back to work before its daily test.")),
    ((UNSEEN,), later("Measure each gap that may have changed.")),
)
"""Cautions that a move may break, and a line for each."""


@dataclass(frozen=True, slots=True)
class Talk:
    """One drill, over all who ended it.

    Attributes
    ----------
    ended : int
    mean : float or None
        Of the points; None where nobody ended it.
    unsafe : int
        Moves that were refused because they are not safe.
    cautions : tuple of (str, int)
        Cautions that were broken, said now, and by how many people; the most frequent first.
    briefly : tuple of (str, int)
        The same cautions, a line each, for a wall.
    left : int
        How many declared it done although it was not.
    handed_over, hinted : int
        How many handed it over; how many asked for a card.
    modules : tuple of (str, int)
        Modules that were replaced in vain, and by how many. They say where the fault is not: not
        for eyes that still look for it.
    """

    ended: int
    mean: float | None
    unsafe: int
    cautions: tuple[tuple[str, int], ...]
    briefly: tuple[tuple[str, int], ...]
    left: int
    handed_over: int
    hinted: int
    modules: tuple[tuple[str, int], ...]


def talk_about(results: Sequence[DrillResult]) -> Talk:
    """What one drill's results have in common.

    Parameters
    ----------
    results : sequence of DrillResult
        Of the same drill, one a person.

    Examples
    --------
    >>> talk_about(()).mean is None
    True
    """
    points = [each.score.points for each in results]
    return Talk(
        ended=len(results),
        mean=sum(points) / len(points) if points else None,
        unsafe=sum(move.unsafe for each in results for move in each.moves),
        cautions=_counted(
            {said(move.caution) for move in each.moves if move.unsafe} for each in results
        ),
        briefly=_counted(
            {in_a_line(move.caution) for move in each.moves if move.unsafe} for each in results
        ),
        left=sum(
            each.moves[-1].do == m.DECLARE and each.score.parts[0].points <= NOT_MENDED
            for each in results
        ),
        handed_over=sum(each.moves[-1].do == m.HAND_OVER for each in results),
        hinted=sum(any(move.do == m.HINT for move in each.moves) for each in results),
        modules=_counted(
            {repair_said(move.what) for move in each.moves if move.wrong_module} for each in results
        ),
    )


def in_a_line(caution: str) -> str:
    """A caution that was broken, short enough for a wall; the whole one where it has no line.

    >>> in_a_line(" ".join(AT_REST))
    'Engine off, key out, at rest, feed rolls blocked.'
    """
    for cautions, line in IN_A_LINE:
        if caution == " ".join(cautions):
            return say(line)
    return said(caution)


def _counted(of_each: Iterable[set[str]]) -> tuple[tuple[str, int], ...]:
    found: Counter[str] = Counter()
    for each in of_each:
        found.update(sorted(each))
    return tuple(found.most_common())
