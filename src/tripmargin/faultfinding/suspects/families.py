"""A fault at all its strengths as one suspect: people ask what is broken, not how much."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.suspects.hypotheses import Hypothesis

Floats = NDArray[np.float64]


def families(hypotheses: Sequence[Hypothesis]) -> NDArray[np.intp]:
    """The number of the first hypothesis that is the same fault, at whatever strength; (H,).

    Examples
    --------
    >>> from tripmargin.faultfinding.suspects.cause import Cause
    >>> weak = Cause("battery:weak", "battery: battery weak", "battery", 0.1)
    >>> weaker = Cause("battery:weak, -3 V", "", "battery", 0.1, strength_of="battery:weak")
    >>> families([Hypothesis(each.id, (each,), 0.5) for each in (weak, weaker)]).tolist()
    [0, 0]
    """
    first: dict[str, int] = {}
    found = [first.setdefault(_name(each), k) for k, each in enumerate(hypotheses)]
    return np.array(found, dtype=np.intp)


def _name(hypothesis: Hypothesis) -> str:
    if len(hypothesis.causes) != 1:
        return hypothesis.id
    return hypothesis.causes[0].strength_of or hypothesis.id


def together(belief: Floats, family: NDArray[np.intp]) -> Floats:
    """Beliefs with the strengths of each fault added up at the first of them; (H,)."""
    found: Floats = np.bincount(family, belief, minlength=len(belief)).astype(float)
    return found
