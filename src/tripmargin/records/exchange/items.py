"""An item of a JSON file, taken apart with what is wrong in it."""

from __future__ import annotations

import math
from collections.abc import Collection
from datetime import datetime
from typing import Any
from uuid import UUID

from tripmargin.ground.errors import nearest, shortened
from tripmargin.ground.languages import say
from tripmargin.records.exchange.incoming import bad_letters, read_id, read_time
from tripmargin.records.exchange.troubles import MOST
from tripmargin.records.kinds import Wrong

LONGEST_NEAR = 100  # letters that are compared with the names that are known


class Item:
    """A JSON object; what is wrong with what was asked of it gathers in `wrong`.

    Parameters
    ----------
    given : object
    keys : collection of str
        Those that it may have.
    where : str
        What stands before each key in an error, such as "versions[2].".
    """

    def __init__(self, given: Any, keys: Collection[str], where: str = "") -> None:
        self.wrong: list[Wrong] = []
        self.where = where
        self.given: dict[str, Any] = given if isinstance(given, dict) else {}
        if not isinstance(given, dict):
            self._note(
                "", given, say("not an object"), say("an object with {keys}", keys=", ".join(keys))
            )
        for key in self.given:
            if len(self.wrong) >= MOST:
                break  # nobody reads more; looking for what was meant takes its time
            if key not in keys:
                near = nearest(key[:LONGEST_NEAR], list(keys))
                hint = say('Did you mean "{near}"?', near=near) if near else ""
                self._note(key, "", say("no such name here"), ", ".join(keys), hint)

    def text(self, key: str, most: int, *, needed: bool = False) -> str:
        """A text of at most so many letters."""
        value = self.given.get(key)
        if value is None or value == "":
            if needed:
                self._note(
                    key,
                    "",
                    say("needed, and not there"),
                    say("a text of at most {most} letters", most=most),
                )
            return ""
        if not isinstance(value, str) or len(value) > most:
            what = say("too long") if isinstance(value, str) else say("not a text")
            self._note(key, value, what, say("a text of at most {most} letters", most=most))
            return ""
        bad = bad_letters(self.where + key, value)
        if bad:
            self.wrong.append(bad)
        return value

    def uid(self, key: str, *, needed: bool = False) -> UUID | None:
        """An id."""
        value = self.text(key, 60, needed=needed)
        found = read_id(self.where + key, value) if value else None
        if isinstance(found, Wrong):
            self.wrong.append(found)
            return None
        return found

    def moment(self, key: str, *, needed: bool = False) -> datetime | None:
        """A time with its zone."""
        value = self.text(key, 60, needed=needed)
        found = read_time(self.where + key, value, zone_needed=True) if value else None
        if isinstance(found, Wrong):
            self.wrong.append(found)
            return None
        return found[0] if found else None

    def whole(self, key: str, *, needed: bool = False) -> int | None:
        """A whole number from 1."""
        value = self.given.get(key)
        if value is None and not needed:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not 0 < value < 2**31:
            self._note(key, value, say("not such a number"), say("a whole number from 1"))
            return None
        return value

    def number(self, key: str) -> float | None:
        """A number."""
        value = self.given.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > 1e15:
            self._note(key, value, say("not such a number"), say("a number"))
            return None
        return float(value) + 0.0 if math.isfinite(value) else None

    def many(self, key: str, most: int) -> list[Any]:
        """A list."""
        value = self.given.get(key)
        if value is None:
            return []
        if not isinstance(value, list) or len(value) > most:
            self._note(
                key,
                type(value).__name__,
                say("not such a list"),
                say("a list of at most {most}", most=most),
            )
            return []
        return value

    def table(self, key: str) -> dict[str, Any]:
        """An object."""
        value = self.given.get(key)
        if isinstance(value, dict):
            return value
        self._note(key, value, say("not an object"), say("an object"))
        return {}

    def _note(self, key: str, value: Any, problem: str, allowed: str, hint: str = "") -> None:
        seen = "" if value is None or value == "" else shortened(str(value))
        bad = bad_letters(key, seen)
        self.wrong.append(
            Wrong(self.where + key, bad.value if bad else seen, problem, allowed, hint)
        )
