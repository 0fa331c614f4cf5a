"""One kind of entry: its name, what it means, its fields."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tripmargin.ground.languages import say
from tripmargin.records.kinds.fields import Field


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of entry.

    Attributes
    ----------
    name : str
        As stored and as the command line takes it.
    title_message, meaning_message : str
        For people, as `say` takes them; `title` and `meaning` say them.
    fields : tuple of Field
    near : bool
        Whether it comes of work at rolls, knives, springs or wiring: cautions come first.
    caution_message : str
        What else is to be heeded first, where the machine runs meanwhile; `caution` says it.
    """

    name: str
    title_message: str
    meaning_message: str
    fields: tuple[Field, ...] = ()
    near: bool = False
    caution_message: str = ""

    @property
    def title(self) -> str:
        """Its name for people."""
        return say(self.title_message)

    @property
    def meaning(self) -> str:
        """What it is, in a sentence."""
        return say(self.meaning_message) if self.meaning_message else ""

    @property
    def caution(self) -> str:
        """What is to be heeded first."""
        return say(self.caution_message) if self.caution_message else ""

    def field_of(self, key: str) -> Field | None:
        """The field that a key belongs to, its family's for "gap_after_m/lower"."""
        family = f"{key.partition('/')[0]}/" if "/" in key else key
        return next((one for one in self.fields if one.key == family), None)

    def keys(self, pawls: tuple[str, ...], steps: tuple[str, ...]) -> Iterator[tuple[str, Field]]:
        """Every key with its field, for a machine with these pawls and steps."""
        for one in self.fields:
            if not one.family:
                yield one.key, one
            else:
                for name in {"pawls": pawls, "steps": steps}.get(one.names, ()):
                    yield f"{one.key}{name}", one
