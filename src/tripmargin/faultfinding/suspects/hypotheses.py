"""What may be wrong with a machine: single faults, pairs, faults that come and go, nothing, else.

Each hypothesis has a weight from how often its faults come. A pair's weight is the product of its
faults' rates and of the time for which a first fault stays unnoticed: the second must come in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

from tripmargin.circuit import Fault, Network
from tripmargin.faultfinding.suspects.cause import Cause
from tripmargin.faultfinding.suspects.causes import causes_of
from tripmargin.faultfinding.suspects.physical import PhysicalFault
from tripmargin.ground.languages import say
from tripmargin.ground.languages.lists import listed
from tripmargin.machine import Machine

NOTHING = "nothing"
"""Id of the hypothesis that the machine is sound."""
SOMETHING_ELSE = "something else"
"""Id of the hypothesis that takes what nothing listed explains."""
NOTHING_SHARE, ELSE_SHARE = 0.02, 0.03
"""Shares of cases in which nothing is wrong, and in which it is something that is not listed.
Engineering judgement, no source."""
PAIRS = 200
"""Pairs that are run through the circuit, the likeliest; the rest counts as something else."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """What may be wrong: one cause, two, none ("nothing"), or something that is not listed."""

    id: str
    causes: tuple[Cause, ...]
    weight: float

    @property
    def text(self) -> str:
        """What a person calls it."""
        if self.causes:
            return listed(cause.text for cause in self.causes)
        if self.id == NOTHING:
            return say("nothing is wrong")
        return say("something that is not listed")

    @property
    def said(self) -> str:
        """What a person calls it, whatever the strength of its faults."""
        if self.causes:
            return listed(str(cause.at_any_strength) or cause.text for cause in self.causes)
        return self.text

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Its faults in the circuit."""
        return tuple(cause.fault for cause in self.causes if cause.fault is not None)

    @property
    def physical(self) -> tuple[PhysicalFault, ...]:
        """Its faults outside the circuit."""
        return tuple(cause.physical for cause in self.causes if cause.physical is not None)

    @property
    def shows(self) -> float:
        """Share of looks in which it shows itself."""
        return min((cause.shows for cause in self.causes), default=1.0)

    @property
    def listed(self) -> bool:
        """Whether it is one listed fault alone, as tables and meters' ranges take them."""
        return len(self.causes) == 1 and self.causes[0].listed

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {
            "id": self.id,
            "text": self.text,
            "mended": [cause.mended for cause in self.causes],
            "weight": self.weight,
            "source": sorted({cause.source for cause in self.causes}),
            "shows": self.shows,
        }


def hypotheses_of(
    machine: Machine, network: Network, also: Sequence[Cause] = ()
) -> tuple[Hypothesis, ...]:
    """Everything that may be wrong, as weights that sum to 1; 'nothing' and 'something else' last.

    `also` are causes that are run through the circuit and weigh nothing.

    Raises
    ------
    NotKnownError
        If the machine file has no `[checks]`.
    """
    causes = causes_of(machine, network)
    single = [Hypothesis(c.id, (c,), c.rate * c.share) for c in causes if c.rate > 0]
    checks = machine.checks
    unnoticed = checks.unnoticed.nominal / 3.6e6 if checks is not None else 0.0  # 1000 h
    both = sorted(_pairs(causes, unnoticed), key=lambda pair: -pair.weight)
    kept, rest = both[:PAIRS], sum(pair.weight for pair in both[PAIRS:])
    total = sum(each.weight for each in (*single, *both))
    known = 1.0 - NOTHING_SHARE - ELSE_SHARE
    scale = known / total if total > 0 else 0.0
    weighed = [Hypothesis(each.id, each.causes, each.weight * scale) for each in (*single, *kept)]
    return (
        *weighed,
        *(Hypothesis(each.id, (_unlisted(each),), 0.0) for each in also),
        Hypothesis(NOTHING, (), NOTHING_SHARE),
        Hypothesis(SOMETHING_ELSE, (), ELSE_SHARE + rest * scale),
    )


def _unlisted(cause: Cause) -> Cause:
    """A cause that stands in no table and makes no meter's range."""
    return replace(cause, strength_of=cause.strength_of or cause.id)


def _pairs(causes: Sequence[Cause], unnoticed: float) -> Iterator[Hypothesis]:
    """Every two lasting causes at once; two faults of one and the same thing mended are left out.

    A repair cures both of these, so that they ask for nothing that the single faults do not. Each
    fault is taken at its listed strength.
    """
    lasting = [c for c in causes if c.shows == 1.0 and c.rate > 0 and c.listed]
    for one, other in combinations(lasting, 2):
        if one.mended != other.mended and not (one.physical and other.physical):
            weight = one.rate * other.rate * unnoticed
            yield Hypothesis(f"{one.id} + {other.id}", (one, other), weight)
