"""Kinds, fields and values of a log, as the command line says them and as people type them.

What is stored is English. Who works in another language reads the kinds in it, and may type them,
yes and no, choices and decimal commas as that language writes them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.languages import ENGLISH, language, say
from tripmargin.ground.typed import typed_quantity

if TYPE_CHECKING:
    from tripmargin.records.kinds import Kind
    from tripmargin.records.kinds.fields import Field


def kind_words(name: str) -> str:
    """A kind for people; in English, and where this version does not know it, as it is stored."""
    from tripmargin.records.kinds import KINDS, WITHDRAWN

    if name == WITHDRAWN:
        return say("withdrawn")
    return name if language() == ENGLISH or name not in KINDS else KINDS[name].title


def kind_meant(text: str) -> str:
    """The name of a kind that was typed by its name or by its words; else the text, unknown."""
    from tripmargin.records.kinds import KINDS

    name = " ".join(text.replace("-", " ").replace("_", " ").split()).lower()
    titles = {kind.title.lower(): kind.name for kind in KINDS.values()}
    return name if name in KINDS else titles.get(name, name)


def value_words(label: str, value: str) -> str:
    """A value behind its label; a question is not followed by a colon."""
    if label.endswith("?"):
        return say("{question} {value}", question=label, value=value)
    return say("{label}: {value}", label=label, value=value)


def value_meant(kind: Kind, key: str, text: str) -> str:
    """What was typed for a field, as entries take it; what is not understood stays as it is."""
    field = kind.field_of(key)
    return text if field is None else _meant(field, text)


def _meant(field: Field, text: str) -> str:
    said = text.strip().lower()
    if field.what == "yes or no":
        return {say("yes"): "yes", say("no"): "no"}.get(said, text)
    if field.what == "choice":
        return {words.lower(): value for value, words in field.choices.items()}.get(said, text)
    if field.what == "quantity":
        return typed_quantity(text)
    return typed(text) if field.piece else text
