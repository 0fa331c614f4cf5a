"""What a machine's own past settings teach: leverage, tightening, coupling, drift.

Each is a line through a few values, shrunk towards what the file says or what is assumed
(`regression`). A pawl's own move is what is left of its change once the others' shares are off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.quantities import Quantity
from tripmargin.stopping.setting.adjusters import Adjuster, Adjusters, Belief
from tripmargin.stopping.setting.past import Adjustment
from tripmargin.stopping.setting.planning import solved, taken_along
from tripmargin.stopping.setting.regression import Regression, regression

Array = NDArray[np.float64]
SEASON = 365.0 * 86400  # s
_SHAPE = 2.0  # of the scatter believed before: worth four values
_LEAST_SCATTER = 0.02e-3  # m
_ROUNDS, _SETTLED = 60, 1e-4
_EXACT = 1e-9  # a value believed without doubt is not learned
_DRIFT_SCATTER = 0.15e-3  # m, of the gap found about a steady drift; common practice, no source
Rows = list[tuple[list[float], float]]


@dataclass(frozen=True, slots=True)
class Learned:
    """One number that past settings taught.

    Attributes
    ----------
    pawl, what : str
        `what` is "leverage", "tightening_shift", "coupling" or "season_drift".
    before, now : Belief
    count : int
        Past settings that it was learned from.
    """

    pawl: str
    what: str
    before: Belief
    now: Belief
    count: int

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "pawl": self.pawl,
            "what": self.what,
            "before": self.before.to_dict(),
            "now": self.now.to_dict(),
            "from_settings": self.count,
        }


def learn(
    adjusters: Adjusters, past: Sequence[Adjustment]
) -> tuple[Adjusters, tuple[Learned, ...]]:
    """The adjusters as the past settings show them, and what was learned from how many.

    Parameters
    ----------
    adjusters : Adjusters
        As the file has them.
    past : sequence of Adjustment
        In any order.
    """
    made, said = adjusters, []
    for place in range(len(adjusters.pawls)):  # coupling first: the moves are seen through it
        made, more = _coupling(made, place, past)
        said += more
    for place in range(len(adjusters.pawls)):
        for teach in (_move, _drift):
            made, more = teach(made, place, past)
            said += more
    return made, tuple(said)


def _with(adjusters: Adjusters, place: int, **changed: Any) -> Adjusters:
    pawls = list(adjusters.pawls)
    pawls[place] = replace(pawls[place], **changed)
    return replace(adjusters, pawls=tuple(pawls))


def _coupling(
    adjusters: Adjusters, place: int, past: Sequence[Adjustment]
) -> tuple[Adjusters, list[Learned]]:
    """From settings in which this pawl alone was moved: what the others did meanwhile."""
    each = adjusters.pawls[place]
    others = [name for name in adjusters.names if name != each.pawl]
    rows: Rows = []
    settings = 0
    for one in past:
        alone = all(one.stayed(name) for name in others) and not one.stayed(each.pawl)
        own = _change(one, each.pawl)
        changes = [c for name in others if (c := _change(one, name)) is not None]
        if alone and own is not None and abs(own) > 3 * adjusters.reading_sd and changes:
            rows += [([own], change) for change in changes]
            settings += 1
    if not rows or each.coupling.sd < _EXACT:
        return adjusters, []
    found = _regress(rows, [each.coupling], 2 * adjusters.reading_sd**2)
    now = _belief(found, 0)
    said = Learned(each.pawl, "coupling", each.coupling, now, settings)
    return _with(adjusters, place, coupling=now), [said]


def _move(
    adjusters: Adjusters, place: int, past: Sequence[Adjustment]
) -> tuple[Adjusters, list[Learned]]:
    """What a turn does and what tightening does, from settings of which these are known."""
    each = adjusters.pawls[place]
    rows: Rows = []
    settings = turned = 0
    for one in past:
        found = _rows_of(one, each, _own_change(one, adjusters, place))
        rows += found
        settings += bool(found)
        turned += any(row[0] for row, _ in found)
    if not rows:
        return adjusters, []
    noise = each.shift_scatter**2 + 2 * adjusters.reading_sd**2
    learned = _regress(rows, [each.leverage, each.shift], noise)
    scatter = np.sqrt(
        max(learned.scatter_variance - 2 * adjusters.reading_sd**2, _LEAST_SCATTER**2)
    )
    shift = _belief(learned, 1)
    made = _with(adjusters, place, shift=shift, shift_scatter=float(scatter))
    said = [Learned(each.pawl, "tightening_shift", each.shift, shift, settings)]
    if turned and each.leverage.sd > _EXACT:
        leverage = _belief(learned, 0)
        made = _with(made, place, leverage=leverage)
        said.insert(0, Learned(each.pawl, "leverage", each.leverage, leverage, turned))
    return made, said


def _rows_of(one: Adjustment, each: Adjuster, own: float | None) -> Rows:
    """Change = leverage x way + shift, whole or in its two halves where both were measured."""
    turns, placed = one.turns.get(each.pawl), one.placed.get(each.pawl)
    rows: Rows = []
    if placed is not None:
        if each.pawl in one.after:
            rows.append(([0.0, 1.0], one.after[each.pawl] - placed))
        if turns and each.pawl in one.before:
            rows.append(([turns * each.pitch, 0.0], placed - one.before[each.pawl]))
    elif turns and own is not None and each.kind == "clevis":
        rows.append(([turns * each.pitch, 1.0], own))
    return rows


def _own_change(one: Adjustment, adjusters: Adjusters, place: int) -> float | None:
    """A pawl's own move: o of r' = r + M o."""
    changes = [_change(one, name) for name in adjusters.names]
    if changes[place] is None:
        return None
    known = [i for i, change in enumerate(changes) if change is not None]
    along = taken_along(adjusters)[np.ix_(known, known)]
    own = solved(along, np.array([[changes[i] for i in known]], dtype=float))
    return float(own[0, known.index(place)])


def _drift(
    adjusters: Adjusters, place: int, past: Sequence[Adjustment]
) -> tuple[Adjusters, list[Learned]]:
    """How far the gap moved from one setting to the next."""
    each = adjusters.pawls[place]
    timed = sorted(
        ((one.time, one) for one in past if one.time is not None), key=lambda pair: pair[0]
    )
    rows: Rows = []
    for (start, one), (end, other) in pairwise(timed):
        left = one.after.get(each.pawl, one.before.get(each.pawl))
        found = other.before.get(each.pawl)
        if left is not None and found is not None and end > start:
            rows.append(([(end - start) / SEASON], found - left))
    before = Belief(each.drift.nominal, each.drift.sd, each.drift.source)
    if not rows or before.sd < _EXACT:
        return adjusters, []
    learned = _regress(rows, [before], 2 * adjusters.reading_sd**2 + _DRIFT_SCATTER**2)
    now = _belief(learned, 0)
    # The drift to come differs from the average one as those before did.
    sd = float(np.hypot(now.sd, np.sqrt(learned.scatter_variance)))
    drift = Quantity(
        now.mean, now.mean - 2 * sd, now.mean + 2 * sd, "normal", "length",
        f"{now.mean * 1e3:.3g} mm +- {sd * 1e3:.2g} mm (sd)",
    )  # fmt: skip
    said = Learned(each.pawl, "season_drift", before, now, len(rows))
    return _with(adjusters, place, drift=drift), [said]


def _change(one: Adjustment, pawl: str) -> float | None:
    if pawl not in one.before or pawl not in one.after:
        return None
    return one.after[pawl] - one.before[pawl]


def _regress(rows: Rows, before: Sequence[Belief], noise: float) -> Regression:
    """Coefficients from rows, each shrunk towards its belief; `noise` is the scatter believed.

    What is believed of the coefficients does not hang on the scatter, so the conjugate law holds
    for a given scatter only: the two are found in turn (expectation and maximisation, Dempster,
    Laird and Rubin 1977, from memory). Begun with the scatter about the belief, so that one odd
    value counts as scatter and many that agree count.
    """
    x, y = (np.array(part, dtype=float) for part in zip(*rows, strict=True))
    mean = np.array([each.mean for each in before])
    sd = np.maximum([each.sd for each in before], _EXACT)
    shape, scale = _SHAPE, _SHAPE * noise
    scatter = (scale + np.square(y - x @ mean).sum() / 2) / (shape + len(y) / 2)
    for _ in range(_ROUNDS):
        found = regression(
            x, y, mean=mean, precision=np.diag(scatter / sd**2), shape=shape, scale=scale
        )
        left = np.square(y - x @ found.mean).sum()
        unsure = scatter * np.trace(x @ found.spread @ x.T)
        before_it, scatter = scatter, (scale + (left + unsure) / 2) / (shape + len(y) / 2)
        if abs(scatter - before_it) < _SETTLED * scatter:
            break
    return replace(found, scale=scatter * found.shape)


def _belief(found: Regression, place: int) -> Belief:
    return Belief(float(found.mean[place]), float(found.standard_errors[place]), "learned")
