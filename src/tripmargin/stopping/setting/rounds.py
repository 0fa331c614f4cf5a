"""Setting pawl by pawl: what is known of each gap after every reading, and what to do next."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tripmargin.stopping.setting.adjusters import Adjusters
from tripmargin.stopping.setting.sequence import Step
from tripmargin.stopping.setting.steps import Steps

_LEAST = 1e-4  # m; a gap that is only reckoned may come out below any, and is measured then
_WIDE = 2.0  # standard deviations either side: nineteen of twenty measures


@dataclass(frozen=True, slots=True)
class Round:
    """One reading during the work.

    Attributes
    ----------
    pawl : str
    gap : float, m
        As read.
    turns : float or None
        By which its clevis was turned before; above zero they open the gap.
    placed : bool
        Whether its clamp was placed anew before.
    """

    pawl: str
    gap: float
    turns: float | None = None
    placed: bool = False

    @property
    def moved(self) -> bool:
        """Whether anything was done to the pawl before the reading."""
        return self.turns is not None or self.placed


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of one gap: as it was read last, and what moves of others did to it since.

    Attributes
    ----------
    gap, sd : float, m
    fresh : bool
        Whether nothing that may have changed it was done since it was read.
    """

    gap: float
    sd: float
    fresh: bool = True

    def expect(self, reading_sd: float) -> tuple[float, float]:
        """What nineteen of twenty readings would show, m."""
        half = _WIDE * float(np.hypot(self.sd, reading_sd))
        return max(self.gap - half, 0.0), self.gap + half


def known_gaps(
    adjusters: Adjusters, readings: Mapping[str, float], rounds: Sequence[Round]
) -> dict[str, Known]:
    """What is known of every gap after some rounds of the work.

    Parameters
    ----------
    adjusters : Adjusters
    readings : mapping of pawl to gap, m
        Of all pawls, before the work.
    rounds : sequence of Round

    Notes
    -----
    A pawl that moved by o takes each other along by its share c of that: the other's gap is taken
    for r + c o, with the doubt of c and of o added; it is to be measured again.
    """
    doubt = adjusters.reading_sd
    known = {name: Known(gap, doubt) for name, gap in readings.items()}
    for one in rounds:
        each = next(a for a in adjusters.pawls if a.pawl == one.pawl)
        before = known[one.pawl]
        known[one.pawl] = Known(one.gap, doubt)
        if not one.moved:
            continue
        own, own_sd = one.gap - before.gap, float(np.hypot(before.sd, doubt))
        share = each.coupling
        if share.mean == 0 and share.sd == 0:
            continue
        for name, other in known.items():
            if name != one.pawl:
                more = np.hypot(share.sd * own, share.mean * own_sd)
                known[name] = Known(
                    other.gap + share.mean * own, float(np.hypot(other.sd, more)), fresh=False
                )
    return known


@dataclass(frozen=True, slots=True, eq=False)
class Work:
    """What to do next.

    Attributes
    ----------
    do : "turn", "place", "measure" or "done"
    pawl : str
        Empty where all is done.
    steps : tuple of Step
        The turning or placing, and the tightening.
    expect : (least, greatest) or None, m
        What nineteen of twenty readings will show after it.
    """

    do: str
    pawl: str = ""
    steps: tuple[Step, ...] = ()
    expect: tuple[float, float] | None = None

    @property
    def turns(self) -> float | None:
        """Of the clevis; above zero they open the gap."""
        return self.steps[0].turns if self.steps else None


def next_work(plan: Steps, known: Mapping[str, Known]) -> Work:
    """The next thing to do, from a plan that was made for the gaps as they are known.

    The first pawl that the plan moves, in the trade's order; but a clevis is turned from a gap that
    was read, not from one that was reckoned, so that one is measured first. A clamp is placed by
    the blade and needs no reading before. Where the plan moves nothing, what may have changed since
    it was read is measured again; then all is done.
    """
    doubt = plan.adjusters.reading_sd
    if plan.moved:
        pawl = plan.moved[0]
        kind = next(each.kind for each in plan.adjusters.pawls if each.pawl == pawl)
        if kind == "clamp" or known[pawl].fresh:
            return _move(plan, pawl)
        return Work("measure", pawl, expect=known[pawl].expect(doubt))
    for pawl, one in known.items():
        if not one.fresh:
            return Work("measure", pawl, expect=one.expect(doubt))
    return Work("done")


def _move(plan: Steps, pawl: str) -> Work:
    mine = [step for step in plan.steps if step.pawl == pawl]
    first = next(i for i, step in enumerate(mine) if step.do in ("turn", "place"))
    move, tighten, measure = mine[first : first + 3]
    return Work(move.do, pawl, (move, tighten), measure.expect)


@dataclass(frozen=True, slots=True, eq=False)
class Progress:
    """Where the work stands after some rounds: gaps as known, the plan from them, what is next."""

    known: dict[str, Known]
    plan: Steps
    work: Work


def going_on(
    plan_for: Callable[[Mapping[str, float]], Steps],
    readings: Mapping[str, float],
    rounds: Sequence[Round],
) -> Progress:
    """Plan anew from what is known after some rounds.

    Parameters
    ----------
    plan_for : callable
        Gaps by pawl, m, to `Steps`.
    readings : mapping of pawl to gap, m
        Of all pawls, before the work.
    rounds : sequence of Round

    Raises
    ------
    SettingError
        If a gap is none, or nothing can be planned from it.
    """
    begun = plan_for(readings)  # its adjusters hold what past settings taught
    known = known_gaps(begun.adjusters, readings, rounds)
    if not rounds:
        return Progress(known, begun, next_work(begun, known))
    plan = plan_for(
        {name: one.gap if one.fresh else max(one.gap, _LEAST) for name, one in known.items()}
    )
    return Progress(known, plan, next_work(plan, known))


def net_turns(rounds: Sequence[Round]) -> dict[str, float]:
    """Turns of each clevis that was turned, all together; above zero they opened the gap."""
    made: dict[str, float] = {}
    for one in rounds:
        if one.turns is not None:
            made[one.pawl] = made.get(one.pawl, 0.0) + one.turns
    return made
