"""Cautions on paper: whole at the head of a complaint, short beside each step that they are for.

Steps share few sets of cautions. Each set has a letter, the same in the whole chart; a step shows
the letter and a line that says every one of its cautions in short.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tripmargin.faultfinding.cases.cautions import (
    AT_REST,
    FIRST,
    LIVE,
    NEVER_LOCKED,
    RUNNING,
    TWO_LIVE,
    TWO_RUNNING,
)
from tripmargin.faultfinding.charts.chart_steps import ChartStep
from tripmargin.faultfinding.suspects.repairs import PROVE_AGAIN
from tripmargin.ground.languages import later, say
from tripmargin.pictures.words import said

SYMBOL = "\N{BLACK UP-POINTING TRIANGLE}"
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

_ORDER = (*AT_REST, *LIVE, TWO_LIVE, *RUNNING, TWO_RUNNING, NEVER_LOCKED)
_SHORT = dict(
    zip(
        _ORDER,
        (
            later("Engine off, key out, everything at rest."),
            later("Stored energy released."),
            later("Feed rolls blocked."),
            later("Engine off, key on: fingers off plunger and pawls."),
            later("Rolls blocked; probes only, short nothing."),
            later("A second person holds, nothing tied down."),
            later(
                "Two people if a control is held, signs agreed; before hands go near, key out, and"
                " the one at the machine keeps it."
            ),
            later("Tools out, guards shut, everybody clear of rolls, knives and drives."),
            later("Look and listen from out of reach, one person at the controls, signs agreed."),
            later("Two people: start and stop at the sign of the one outside, who keeps the key."),
            later("Protection never locked out."),
        ),
        strict=True,
    )
)


@dataclass(frozen=True, slots=True)
class CautionSet:
    """Cautions that some steps share: `mark` is printed, `words` are whole, `short` is one line."""

    letter: str
    words: tuple[str, ...]

    @property
    def mark(self) -> str:
        """The symbol with the letter."""
        return f"{SYMBOL}{self.letter}"

    @property
    def short(self) -> str:
        """Every caution of the set in short; one without short words stands whole."""
        keys = map(_key, self.words)
        return " ".join(said(_SHORT.get(key, key)) for key in keys)


def caution_sets(steps: Iterable[ChartStep]) -> dict[tuple[str, ...], CautionSet]:
    """The sets of cautions of some steps, by the cautions themselves, the machine at rest first.

    What stands before everything is in no set: the head of each complaint says it.
    """
    distinct = {own_cautions(step) for step in steps} - {()}
    ordered = sorted(distinct, key=_rank)
    letters = (LETTERS[k] if k < len(LETTERS) else f"{k + 1}" for k in range(len(ordered)))
    return {
        words: CautionSet(letter, words) for words, letter in zip(ordered, letters, strict=False)
    }


def sets_after(
    step: ChartStep, steps: Iterable[ChartStep], sets: Mapping[tuple[str, ...], CautionSet]
) -> tuple[CautionSet, ...]:
    """The cautions of the looks that a repair asks for after the daily test.

    A look's id begins with its state, and steps in that state say which cautions it needs. A state
    that no step is in needs all of them.
    """
    # Of the looks in one state some take two people: the fuller cautions hold for both.
    fuller = sorted(filter(own_cautions, steps), key=lambda each: len(own_cautions(each)))
    known = {each.state: sets[own_cautions(each)] for each in fuller}
    states = [name.partition(": ")[0] for name in step.also if name != PROVE_AGAIN]
    if any(state not in known for state in states):
        return tuple(sets.values())
    wanted = {known[state] for state in states}
    return tuple(one for one in sets.values() if one in wanted)


def own_cautions(step: ChartStep) -> tuple[str, ...]:
    """A step's cautions without the one that stands before everything."""
    return tuple(words for words in step.cautions if _key(words) != FIRST)


def _rank(words: Sequence[str]) -> tuple[int, ...]:
    keys = map(_key, words)
    return tuple(_ORDER.index(key) if key in _ORDER else len(_ORDER) for key in keys)


def _key(words: str) -> str:
    """A caution as its table has it, whether it comes said or not."""
    for each in (FIRST, *_ORDER):
        if words in (each, say(each)):
            return each
    return words
