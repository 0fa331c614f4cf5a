"""From what a person wrote to an entry's values, and back to words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.records.kinds.fields import EntryError, Value, Wrong
from tripmargin.records.kinds.kinds import Kind

MOST_VALUES = 200


def read_values(
    kind: Kind,
    said: Mapping[str, str],
    *,
    pawls: tuple[str, ...] = (),
    steps: tuple[str, ...] = (),
    units: Mapping[str, str] | None = None,
) -> dict[str, Value]:
    """The values of an entry from what was written in its fields.

    Parameters
    ----------
    kind : Kind
    said : mapping
        Key to text; empty texts are left out.
    pawls, steps : tuple of str
        Names that the machine has; an empty tuple takes any name.
    units : mapping, optional
        Dimension to the unit for a bare number.

    Returns
    -------
    dict
        Key to value in SI.

    Raises
    ------
    EntryError
        With everything that is wrong, each with its field.
    """
    wrong: list[Wrong] = []
    values: dict[str, Value] = {}
    given = {key: text.strip() for key, text in said.items() if text.strip()}
    if len(given) > MOST_VALUES:
        raise EntryError(
            [
                Wrong(
                    "",
                    str(len(given)),
                    say("too many values"),
                    say("at most {most}", most=MOST_VALUES),
                )
            ]
        )
    for key, text in given.items():
        field = kind.field_of(key)
        trouble = _unknown(kind, key, pawls, steps)
        if field is None or trouble:
            wrong.append(trouble or Wrong(key, text, say("no such field"), _keys(kind)))
            continue
        try:
            values[key] = field.read(text, key, unit=(units or {}).get(field.dimension, ""))
        except EntryError as error:
            wrong.extend(error.wrong)
    wrong.extend(
        Wrong(field.key, "", say("needed, and left empty"), field.allowed())
        for field in kind.fields
        if field.required and field.key not in given
    )
    if not given and not wrong:
        wrong.append(
            Wrong(
                "", "", say("nothing was entered"), say("at least one of: {keys}", keys=_keys(kind))
            )
        )
    if wrong:
        raise EntryError(wrong)
    return values


def wrong_values(kind: Kind, values: Mapping[str, Any]) -> list[Wrong]:
    """What does not fit in values that are in SI already, as an import brings them."""
    wrong: list[Wrong] = []
    if len(values) > MOST_VALUES:
        wrong.append(
            Wrong(
                "",
                str(len(values)),
                say("too many values"),
                say("at most {most}", most=MOST_VALUES),
            )
        )
    for key, value in values.items():
        field = kind.field_of(key)
        trouble = _unknown(kind, key, (), ())
        if field is None or trouble:
            wrong.append(trouble or Wrong(key, str(value), say("no such field"), _keys(kind)))
        elif not field.fits(value):
            wrong.append(Wrong(key, str(value), say("not such a value"), field.allowed()))
    wrong.extend(
        Wrong(field.key, "", say("needed, and not there"), field.allowed())
        for field in kind.fields
        if field.required and field.key not in values
    )
    if not values and not wrong:
        wrong.append(
            Wrong(
                "", "", say("nothing was entered"), say("at least one of: {keys}", keys=_keys(kind))
            )
        )
    return wrong


def values_as_words(kind: Kind, values: Mapping[str, Any], *, us: bool = False) -> dict[str, str]:
    """What an entry says: label to value with its unit, in the kind's order.

    Keys that this version does not know stand at the end as they are: nothing is hidden.
    """
    order = {field.key: place for place, field in enumerate(kind.fields)}

    def place(key: str) -> tuple[int, str]:
        field = kind.field_of(key)
        return (order[field.key] if field else len(order), key)

    made: dict[str, str] = {}
    for key in sorted(values, key=place):
        field = kind.field_of(key)
        if field is None:
            made[key] = str(values[key])
        else:
            name = key.partition("/")[2]
            label = f"{field.label}: {as_written(name)}" if name else field.label
            made[label] = field.words(values[key], us=us)
    return made


def _unknown(kind: Kind, key: str, pawls: tuple[str, ...], steps: tuple[str, ...]) -> Wrong | None:
    field = kind.field_of(key)
    if field is None:
        near = nearest(key, [one.key for one in kind.fields])
        return Wrong(
            key,
            "",
            say("no such field"),
            _keys(kind),
            say('Did you mean "{near}"?', near=near) if near else "",
        )
    if field.family:
        name, known = (
            key.partition("/")[2],
            {"pawls": pawls, "steps": steps}[field.names or "pawls"],
        )
        if not name or (known and name not in known):
            return Wrong(
                key,
                name,
                (
                    say("the machine has no such name among its steps")
                    if field.names == "steps"
                    else say("the machine has no such name among its pawls")
                ),
                ", ".join(known) or say("a name"),
            )
    return None


def _keys(kind: Kind) -> str:
    return ", ".join(f"{one.key}NAME" if one.family else one.key for one in kind.fields)
