"""Filters for templates: values with their units, in the reader's units; times; pictures."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any, TypeGuard

from django import template
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from tripmargin.faultfinding.cases.case import CLOSED, HANDED_OVER, OPEN, PROVING
from tripmargin.ground.decimal_commas import meant_by, spelled, typed
from tripmargin.ground.languages import numeral, say, say_as, say_many
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.unit_words import unit_words
from tripmargin.ground.units import shown
from tripmargin.pictures.words import said
from tripmargin.records.keeping.audit import change_said
from tripmargin.sensing.piece_said import said_piece
from tripmargin.web.doors.change_words import about_said, detail_said, detail_word
from tripmargin.web.doors.roles import role_said
from tripmargin.web.machines.naming import called

register = template.Library()


def _known(value: object) -> TypeGuard[float]:
    """Whether there is a number: of what is not there, a template hands over an empty text."""
    return value is not None and value != ""


@register.filter
def metres(value: float | None, us: bool = False) -> str:
    """A length in SI as the reader wants it; a dash where it is not known."""
    return shown(value, "length", us=us) if _known(value) else say("not known")


@register.filter
def percent(value: float | None) -> str:
    """A share."""
    return shown(value, "fraction") if _known(value) else say("not known")


@register.filter
def milliseconds(value: float | None) -> str:
    """A time."""
    return shown(value, "time") if _known(value) else say("not known")


@register.filter
def picture(svg: str) -> SafeString:
    """An SVG of our own making, which has escaped every text in it (pictures/svg.py)."""
    if not svg.startswith("<svg"):
        raise ValueError("not a picture of ours")
    return mark_safe(svg)


register.filter("as_written", as_written)


@register.filter
def ago(moment: datetime | None, now: datetime | None = None) -> str:
    """How long ago, in one unit, whole ones: "3 d ago" until 4 d are over; "never" for None.

    Cut off as `how_long` does (records/standing/stamps.py): both stand in one row of the fleet.
    """
    if moment is None:
        return say("never")
    gone: timedelta = (now or timezone.now()) - moment
    seconds = gone.total_seconds()
    years, days, hours, minutes = (
        seconds / size for size in (86400 * 365.25, 86400, 3600, 60)
    )  # fmt: skip
    if years >= 2:
        return say_many("{count} year ago", "{count} years ago", int(years))
    if days >= 2:
        return say("{days:.0f} d ago", days=int(days))
    if hours >= 2:
        return say("{hours:.0f} h ago", hours=int(hours))
    if minutes >= 1:
        return say("{minutes:.0f} min ago", minutes=int(minutes))
    return say("just now") if seconds >= -60 else say("in the future")


@register.filter
def meant(text: str | None) -> tuple[str, ...]:
    """What may be meant by a text with commas in its numbers; empty where it has none."""
    return meant_by(typed(text or ""))


@register.filter(name="spelled")
def spelled_piece(text: str) -> str:
    """What a button offers for a box, as the language writes it."""
    return spelled(said_piece(text))


@register.filter
def at_key(mapping: Any, key: Any) -> Any:
    """The value of a key, empty where it is not there."""
    return mapping.get(key, "") if mapping else ""


@register.filter
def cell(value: Any) -> str:
    """A table's cell: numbers to four digits, a dash where nothing is known."""
    if value is None:
        return "–"
    return numeral(value, ".4g") if isinstance(value, float) else str(value)


@register.filter
def spread(value: Any, us: bool = False) -> str:
    """A length with its limits: "57 mm (21 mm to 92 mm)"."""
    from tripmargin.pictures.margins import cell as margin_cell
    from tripmargin.pictures.margins import span
    from tripmargin.pictures.words import length_unit

    unit = length_unit(us)[0]
    within = span(value, us)
    margin = f"{margin_cell(value, us)} {unit}"
    return f"{margin} ({within} {unit})" if within else margin


@register.filter
def state_class(verdict: str) -> str:
    """The hatching of a verdict: a class of look.css."""
    known = {"protected": "protected", "doubtful": "doubtful", "not protected": "not", "not": "not"}
    return known.get(verdict, "unknown")


register.filter("listed", listed)
register.filter("role_word", role_said)
register.filter("change_word", change_said)
register.filter("about_word", about_said)
register.filter("detail_word", detail_word)
register.filter("detail_value", detail_said)
register.filter("said", said)
register.filter("unit_word", unit_words)


@register.filter
def slider_word(name: str) -> str:
    """What is turned on a machine's page, by the name of its field."""
    words = {
        "cut": say("Cut length"),
        "piece": say("Piece of metal"),
        "suppression": say("Across the hold winding"),
    }
    return words.get(name) or called(name)


@register.filter
def mend_word(kind: str) -> str:
    """What leads to the form of an entry that mends what is due."""
    words = {
        "daily check": say("Enter: daily check"),
        "adjustment": say("Enter: pawl gaps"),
        "stop time": say("Enter: stop time"),
        "note": say("Write a note"),
    }
    return words[kind]


@register.filter
def case_word(status: str) -> str:
    """How a case stands, in a word or two."""
    words = {
        OPEN: say_as("case", "open"),
        PROVING: say_as("case", "proving"),
        CLOSED: say_as("case", "closed"),
        HANDED_OVER: say_as("case", "handed over"),
    }
    return words.get(status, status)
