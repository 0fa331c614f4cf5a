"""What may stand in a field of the machine file, in the reader's words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tripmargin.ground.languages import later, say
from tripmargin.ground.units import DIMENSIONS, shown

if TYPE_CHECKING:
    from tripmargin.machine.fields import Spec

IN_A_FILE = '["5 mm", "8 mm"]'
TYPED = later('"5 mm, 8 mm"')
"""A list of lengths as a file holds it, and as a person types it in an answer."""


def allowed(spec: Spec, lengths: str = IN_A_FILE) -> str:
    """What may stand in a field; `lengths` is an example of a list of them."""
    if spec.kind == "quantity":
        return _in_range(_quantity(spec), spec)
    if spec.kind == "lengths":
        return _lengths(spec, lengths)
    if spec.kind == "vector":
        return _vector(spec)
    if spec.kind == "direction":
        return say("three bare numbers, not all zero, such as [0, 0, 1]")
    if spec.kind == "sense":
        return say("1 or -1")
    if spec.kind == "choice":
        return " | ".join(spec.choices)
    if spec.kind == "text":
        return say("a text in quotation marks")
    if spec.kind == "flag":
        return say("true or false")
    return _of_several(spec)


def _of_several(spec: Spec) -> str:
    """Of a kind that holds texts, or tables."""
    if spec.kind == "texts":
        if spec.count is not None:
            return say("a list of {count} texts", count=spec.count)
        if spec.choices:
            return say("a list of texts out of {choices}", choices=", ".join(spec.choices))
        return say("a list of texts")
    if spec.kind == "words":
        if spec.keys:
            return say("a table of texts for {keys}", keys=", ".join(spec.keys))
        return say("a table of texts")
    if spec.kind == "tables":
        return say("one or more tables")
    if spec.kind == "named":
        if spec.tables:
            kinds = ", ".join(spec.tables)
            return say("tables with names of your own, each of a kind: {kinds}", kinds=kinds)
        return say("tables with names of your own")
    return say("a table")


def _quantity(spec: Spec) -> str:
    if spec.bare:
        if spec.whole:
            return say("a whole number")
        return say('a bare number, or a text such as "900 +- 5 %"')
    kind = DIMENSIONS[spec.dimension]
    named, example = say(kind.words), say(kind.example)
    if spec.dimension[0] in "aeiou":
        return say("an {dimension} such as {example}", dimension=named, example=example)
    return say("a {dimension} such as {example}", dimension=named, example=example)


def _in_range(what: str, spec: Spec) -> str:
    low, high = _ends(spec)
    if low and high:
        return say("{what}, from {low} to {high}", what=what, low=low, high=high)
    if low:
        return say("{what}, {low} or more", what=what, low=low)
    return say("{what}, at most {high}", what=what, high=high) if high else what


def _ends(spec: Spec) -> tuple[str, str]:
    """The least and the greatest value, empty where there is none."""
    low, high = ("" if end is None else shown(end, spec.dimension) for end in (spec.low, spec.high))
    return low, high


def _lengths(spec: Spec, example: str) -> str:
    low, high = _ends(spec)
    return say(
        "a list of lengths such as {example}, each, from {low} to {high}",
        example=example, low=low, high=high,
    )  # fmt: skip


def _vector(spec: Spec) -> str:
    low, high = _ends(spec)
    count = spec.count or 0
    example = "[" + ", ".join(['"10 mm"'] * count) + "]"
    return say(
        "{count} lengths such as {example}, each, from {low} to {high}",
        count=count, example=example, low=low, high=high,
    )  # fmt: skip
