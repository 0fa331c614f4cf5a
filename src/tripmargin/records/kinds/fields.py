"""One field of an entry: its key, what it means, what may stand in it, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from tripmargin.ground.errors import QuantityError, TripmarginError, nearest, shortened
from tripmargin.ground.languages import ENGLISH, language, later, say
from tripmargin.ground.quantities import quantity
from tripmargin.ground.units import DIMENSIONS, shown, written

What = Literal["quantity", "count", "yes or no", "choice", "text"]
Value = float | int | bool | str
LONGEST_TEXT = 2000
PIECES = later(
    'a ball such as "16 mm ball"; any other piece with how it lay: "M8x30 bolt along",'
    ' "across" or "upright"'
)
HOW_IT_LAY = later("how it lay is not said, and that changes its signal many times")
PIECE_SIZES = (0.5e-3, 2.0)
"""m, of any side of a piece that goes over a sensor."""
YES, NO = ("yes", "y", "true", "1"), ("no", "n", "false", "0")


def with_words(choices: Mapping[str, str]) -> str:
    """What is stored, one after the other; in other languages with what people read in brackets.

    >>> from tripmargin.ground.languages import speaking
    >>> with speaking("de"):
    ...     with_words({"plan": "Plan", "tine": "ein Zinken"})
    'plan, tine (ein Zinken)'
    """
    if language() == ENGLISH:
        return ", ".join(choices)
    return ", ".join(
        key if words.lower() == key else f"{key} ({words})" for key, words in choices.items()
    )


@dataclass(frozen=True, slots=True)
class Wrong:
    """One thing that cannot be taken: the field's key, what was seen, what is allowed, a mend."""

    field: str
    value: str
    problem: str
    allowed: str
    hint: str = ""

    def __str__(self) -> str:
        seen = f'{self.field} = "{shortened(self.value)}"' if self.value else self.field
        text = say(
            "{seen}: {problem}. Allowed: {allowed}.",
            seen=seen,
            problem=self.problem,
            allowed=self.allowed,
        )
        return f"{text} {self.hint}" if self.hint else text


class EntryError(TripmarginError, ValueError):
    """An entry that cannot be taken; `.wrong` holds every problem found, for the form's fields."""

    def __init__(self, wrong: Sequence[Wrong]) -> None:
        self.wrong = tuple(wrong)
        super().__init__("\n".join(map(str, self.wrong)))


@dataclass(frozen=True, slots=True)
class Field:
    """One field.

    Attributes
    ----------
    key : str
        In the stored values; its unit is in its name, SI: "travel_m". One that ends in "/" is a
        family, one value each for names of the machine's own: "gap_after_m/" holds
        "gap_after_m/lower".
    label_message, help_message : str
        What a form says, as `say` takes it; `label` and `help` say it.
    what : str
        "quantity", "count", "yes or no", "choice" or "text".
    dimension : str
        Of a quantity: a key of `ground.units.DIMENSIONS`.
    low, high : float, SI
        What is plausible; anything beyond is refused as a slip of the pen.
    choice_messages : mapping
        Of a choice: what is stored, and what people read, as `say` takes it, or what says it where
        it needs a context; `choices` says it.
    names : "pawls", "steps" or ""
        Of a family: which names of the machine it has.
    piece : bool
        Of a text: whether it is a piece of metal, and how it lay.
    """

    key: str
    label_message: str
    what: What
    required: bool = False
    dimension: str = ""
    low: float = -math.inf
    high: float = math.inf
    choice_messages: Mapping[str, str | Callable[[], str]] = field(default_factory=dict, hash=False)
    help_message: str = ""
    names: Literal["", "pawls", "steps"] = ""
    piece: bool = False

    @property
    def label(self) -> str:
        """What stands over it."""
        return say(self.label_message)

    @property
    def help(self) -> str:
        """What stands under it."""
        return say(self.help_message) if self.help_message else ""

    @property
    def choices(self) -> dict[str, str]:
        """What is stored, and what people read."""
        return {
            value: say(words) if isinstance(words, str) else words()
            for value, words in self.choice_messages.items()
        }

    @property
    def family(self) -> bool:
        """Whether it holds one value for each of several names."""
        return self.key.endswith("/")

    def allowed(self, *, us: bool = False) -> str:
        """What may be written, in words."""
        if self.what == "yes or no":
            return say("yes or no")
        if self.what == "choice":
            return with_words(self.choices)
        if self.piece:
            return say(PIECES)
        if self.what == "text":
            return say("words, at most {most} letters", most=LONGEST_TEXT)
        if self.what == "count":
            return say("a whole number from {low:g} to {high:g}", low=self.low, high=self.high)
        low, high = (shown(bound, self.dimension, us=us) for bound in (self.low, self.high))
        middle = written(self.low + (self.high - self.low) / 8, self.dimension, us=us, digits=2)
        if DIMENSIONS[self.dimension].metric:
            return say(
                'a number with its unit, such as "{middle}", from {low} to {high}',
                middle=middle,
                low=low,
                high=high,
            )
        return say(
            'a number, such as "{middle}", from {low} to {high}', middle=middle, low=low, high=high
        )

    def read(self, said: str, key: str = "", *, unit: str = "") -> Value:
        """The value of what a person wrote.

        Parameters
        ----------
        said : str
            Not empty.
        key : str, optional
            The full key of a family's field, for the error.
        unit : str, optional
            Added where a quantity is a bare number: the unit that the form shows beside the box.

        Raises
        ------
        EntryError
            With what is allowed and how to mend it.
        """
        key = key or self.key
        if self.what == "yes or no":
            lower = said.lower()
            if lower in YES or lower in NO:
                return lower in YES
            raise self._refused(key, said, say("neither yes nor no"))
        if self.what == "choice":
            if said in self.choice_messages:
                return said
            near = nearest(said, list(self.choice_messages))
            raise self._refused(
                key,
                said,
                say("not one of the choices"),
                say('Did you mean "{near}"?', near=near) if near else "",
            )
        if self.what == "text":
            if len(said) > LONGEST_TEXT:
                raise self._refused(key, said, say("too long: {count} letters", count=len(said)))
            if "\0" in said:
                raise self._refused(key, said, say("a zero character, which no database takes"))
            return self._piece(key, said) if self.piece else said
        if self.what == "count":
            return self._count(key, said)
        return self._quantity(key, said, unit)

    def fits(self, value: object) -> bool:
        """Whether a value in SI may stand here."""
        if self.what == "yes or no":
            return isinstance(value, bool)
        if self.what == "choice":
            return isinstance(value, str) and value in self.choices
        if self.what == "text":
            whole = isinstance(value, str) and 0 < len(value) <= LONGEST_TEXT and "\0" not in value
            return whole and not (self.piece and _wrong_piece(str(value)))
        if isinstance(value, bool) or not isinstance(value, int | float):
            return False
        return self.low <= value <= self.high and (self.what != "count" or value == int(value))

    def words(self, value: Any, *, us: bool = False) -> str:
        """A stored value as a person reads it, with its unit."""
        if self.what == "yes or no":
            return say("yes") if value else say("no")
        if self.what == "quantity":
            # An hour meter is read back to the tenth; a length to what a gauge can tell.
            digits = 7 if self.dimension == "running hours" else 4
            return shown(float(value), self.dimension, us=us, digits=digits)
        if self.what == "choice":
            return self.choices.get(value, str(value))
        if self.piece:
            from tripmargin.sensing.piece_said import said_piece  # heavy, as below

            return said_piece(str(value))
        return str(value)

    def _piece(self, key: str, said: str) -> str:
        """Its English name, in whichever language it was written."""
        from tripmargin.sensing.piece_typed import typed_piece  # heavy, as below

        name = typed_piece(said)
        if trouble := _wrong_piece(name):
            raise self._refused(key, said, *trouble)
        return name

    def _count(self, key: str, said: str) -> int:
        if not said.isascii() or not said.isdecimal() or len(said) > 9:
            raise self._refused(key, said, say("not a whole number"))
        if not self.low <= int(said) <= self.high:
            raise self._refused(key, said, say("out of range"))
        return int(said)

    def _quantity(self, key: str, said: str, unit: str) -> float:
        bare = unit and said.replace(".", "", 1).lstrip("+-").isdecimal()
        try:
            value = quantity(f"{said} {unit}" if bare else said, self.dimension).nominal
        except QuantityError as error:
            raise self._refused(key, said, error.problem, error.hint) from error
        if not self.low <= value <= self.high:
            raise self._refused(
                key,
                said,
                say("not plausible"),
                say("Is the unit right? If it is so, write it as a note."),
            )
        return value

    def _refused(self, key: str, said: str, problem: str, hint: str = "") -> EntryError:
        return EntryError([Wrong(key, said, problem, self.allowed(), hint)])


def _wrong_piece(said: str) -> tuple[str, str] | None:
    """What is wrong with a piece, and how to mend it; None where nothing is."""
    from tripmargin.sensing.piece_words import read_piece_words
    from tripmargin.sensing.pieces import Piece  # heavy, and few entries are of a piece

    low, high = PIECE_SIZES
    try:
        for size in read_piece_words(said).dimensions:
            if not low <= size <= high:
                seen = shown(size, "length", digits=6)
                return say("a size of {seen}, no test piece's", seen=seen), (
                    say(
                        "A size is from {low} to {high}.",
                        low=shown(low, "length"),
                        high=shown(high, "length"),
                    )
                )
        piece = Piece.from_text(said)
    except QuantityError as error:
        return error.problem, error.hint
    except ValueError as error:
        return str(error).rstrip("."), ""
    if piece.kind != "ball" and not piece.attitude_given:
        return say(HOW_IT_LAY), ""
    return None
