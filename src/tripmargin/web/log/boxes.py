"""The boxes of a form, made from the fields of a kind of entry."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tripmargin.faultfinding.wording.lamp_words import Lamps
from tripmargin.ground.decimal_commas import meant_by, spelled, typed
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.typed import typed_quantity
from tripmargin.ground.unit_words import unit_words
from tripmargin.ground.units import DIMENSIONS, from_si
from tripmargin.records.kinds import Field, Kind, Wrong

PREFIX = "v."
"""Before the keys of an entry's values in a form, so that they meet no other name."""
_BARE = re.compile(r"[+-]?[\d./ ]*\d[\d./ ]*")
_YES_NO = {"yes": later("Yes"), "no": later("No")}
LAMPS = later("Step by step: what rolls, lamps and buzzer should show")


def unit_of(field: Field, *, us: bool) -> str:
    """The unit beside a box, and of a bare number in it."""
    dimension = DIMENSIONS.get(field.dimension)
    return "" if dimension is None else dimension.us if us else dimension.metric


def with_unit(said: str, field: Field, *, us: bool) -> str:
    """What was typed as it is read: decimal points, and the unit beside the box if it has none.

    >>> length = Field("gap_m", "Gap", "quantity", dimension="length")
    >>> with_unit("1/8", length, us=True), with_unit("3 mm", length, us=True)
    ('1/8 in', '3 mm')
    """
    said = said.strip()
    if field.piece:
        return typed(said)
    said = typed_quantity(said) if field.what == "quantity" else said
    bare = field.what == "quantity" and _BARE.fullmatch(said)
    return f"{said} {unit_of(field, us=us)}" if bare else said


def written_of(value: Any, field: Field, *, us: bool) -> str:
    """A stored value as a form sends it in any language: decimal points, a piece's English name.

    >>> written_of(0.0035, Field("gap_m", "Gap", "quantity", dimension="length"), us=False)
    '3.5'
    """
    if field.what == "yes or no":
        return "yes" if value else "no"
    if field.what == "quantity":
        return f"{from_si(float(value), field.dimension, unit_of(field, us=us)):.7g}"
    return str(value)


def in_box(text: str, field: Field) -> str:
    """What `written_of` gives, as the language's box holds it."""
    if field.piece:
        return field.words(text)
    return spelled(text) if field.what == "quantity" else text


def text_of(value: Any, field: Field, *, us: bool) -> str:
    """A stored value as its box would hold it."""
    return in_box(written_of(value, field, us=us), field)


def trouble_of(wrong: Wrong, field: Field | None, *, us: bool = False) -> str:
    """What is wrong, what is allowed and how to mend it, to stand beside the box."""
    allowed = wrong.allowed
    if field is not None and field.what == "quantity" and us:
        allowed = field.allowed(us=True)
    elif field is not None and field.what == "choice":
        allowed = say("one of the plates")
    problem = f"{wrong.problem[:1].upper()}{wrong.problem[1:]}."
    lines = (
        problem,
        say("Allowed: {allowed}.", allowed=spelled(allowed)) if allowed else "",
        wrong.hint,
    )
    return "\n".join(filter(None, lines))


@dataclass(frozen=True, slots=True)
class Box:
    """One box, or one row of plates."""

    name: str
    id: str
    label: str
    field: Field
    unit: str
    text: str
    troubles: tuple[str, ...]
    plates: tuple[tuple[str, str], ...]
    do: str = ""
    """What is done before it is answered."""
    expected: tuple[str, ...] = ()
    """What a sound machine shows then."""

    @property
    def shape(self) -> str:
        """Which of the templates shows it."""
        return "plates" if self.plates else "quantity" if self.field.what == "quantity" else "text"

    @property
    def mends(self) -> tuple[str, ...]:
        """What may be meant by a number with a comma."""
        return meant_by(typed(self.text)) if self.shape == "quantity" or self.field.piece else ()

    @property
    def keyboard(self) -> str:
        """The phone's keyboard; the one of digits has no minus on some phones."""
        return "decimal" if self.field.low >= 0 else "text"

    @property
    def long(self) -> bool:
        """Whether it takes several lines."""
        return self.field.key == "text"

    @property
    def may_stay_empty(self) -> bool:
        """Whether it may."""
        return not self.field.required

    @property
    def described_by(self) -> str:
        """The ids of the texts that describe it."""
        helped = (self.field.help and not self.field.family) or self.do or self.expected
        ids = [f"{self.id}-help"] if helped else []
        return " ".join([*ids, *([f"{self.id}-trouble"] if self.troubles else [])])


@dataclass(frozen=True, slots=True)
class Group:
    """A box by itself, or a family: one box for each pawl or step."""

    label: str
    boxes: tuple[Box, ...]
    family: str = ""
    help: str = ""
    notes: tuple[str, ...] = ()

    @property
    def folded(self) -> bool:
        """Whether it is long and seldom filled."""
        return self.family == "steps"

    @property
    def open(self) -> bool:
        """Whether something stands in it that must be seen."""
        return any(box.text or box.troubles for box in self.boxes)


@dataclass(slots=True)
class Filled:
    """What stands in a form: texts by key, as typed, and the troubles found."""

    texts: dict[str, str] = field(default_factory=dict)
    note: str = ""
    at: str = ""
    zone: str = "0"
    kept: frozenset[str] | None = None
    """Ids of the photos that go along with a correction, as texts; None: all."""
    troubles: dict[str, list[str]] = field(default_factory=dict)
    """By key of a value, or "at", "note", "photos", "uid"; "" for the whole form."""

    def trouble(self, key: str, text: str) -> None:
        """Add one."""
        self.troubles.setdefault(key, []).append(text)


def groups_of(
    kind: Kind,
    filled: Filled,
    names: Mapping[str, tuple[str, ...]],
    *,
    us: bool,
    lamps: Lamps | None = None,
) -> list[Group]:
    """The boxes of a kind of entry for a machine with these names of pawls and steps.

    `lamps` says what a sound machine's lamps show in each step.
    """
    made: list[Group] = []
    number = 0

    def box(key: str, label: str, one: Field, name: str = "") -> Box:
        nonlocal number
        number += 1
        return Box(
            name=f"{PREFIX}{key}",
            id=f"v{number}",
            label=label,
            field=one,
            unit=unit_words(unit_of(one, us=us)) if one.what == "quantity" else "",
            text=filled.texts.get(key, ""),
            troubles=tuple(filled.troubles.get(key, ())),
            plates=_plates(one),
            do=lamps.do(name) if lamps and name else "",
            expected=lamps.words(name) if lamps and name else (),
        )

    for one in kind.fields:
        if not one.family:
            made.append(Group(one.label, (box(one.key, one.label, one),)))
            continue
        of_steps = lamps if one.names == "steps" else None
        boxes = tuple(
            box(f"{one.key}{name}", as_written(name), one, name if of_steps else "")
            for name in names.get(one.names, ())
        )
        notes = of_steps.notes if of_steps else ()
        if boxes or notes:
            label = say(LAMPS) if of_steps else one.label
            made.append(Group(label, boxes, one.names, one.help, notes))
    return made


def _plates(field: Field) -> tuple[tuple[str, str], ...]:
    if field.what == "yes or no":
        plates = {value: say(word) for value, word in _YES_NO.items()}
    elif field.what == "choice":
        plates = {value: label[:1].upper() + label[1:] for value, label in field.choices.items()}
    else:
        return ()
    return (*plates.items(), *(() if field.required else (("", say("Leave out")),)))
