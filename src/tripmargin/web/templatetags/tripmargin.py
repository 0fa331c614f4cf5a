"""Filters for templates: values with their units, in the reader's units; times; pictures."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any, TypeGuard

from django import template
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from tripmargin.ground.decimal_commas import meant_by
from tripmargin.ground.units import shown

register = template.Library()


def _known(value: object) -> TypeGuard[float]:
    """Whether there is a number: of what is not there, a template hands over an empty text."""
    return value is not None and value != ""


@register.filter
def metres(value: float | None, us: bool = False) -> str:
    """A length in SI as the reader wants it; a dash where it is not known."""
    return shown(value, "length", us=us) if _known(value) else "not known"


@register.filter
def percent(value: float | None) -> str:
    """A share."""
    return shown(value, "fraction") if _known(value) else "not known"


@register.filter
def milliseconds(value: float | None) -> str:
    """A time."""
    return shown(value, "time") if _known(value) else "not known"


@register.filter
def picture(svg: str) -> SafeString:
    """An SVG of our own making, which has escaped every text in it (pictures/svg.py)."""
    if not svg.startswith("<svg"):
        raise ValueError("not a picture of ours")
    return mark_safe(svg)


@register.filter
def ago(moment: datetime | None, now: datetime | None = None) -> str:
    """How long ago, in one unit: "3 d ago"; "never" for None."""
    if moment is None:
        return "never"
    gone: timedelta = (now or timezone.now()) - moment
    seconds = gone.total_seconds()
    for size, unit in ((86400 * 365.25, "years"), (86400, "d"), (3600, "h"), (60, "min")):
        if seconds >= 2 * size or (seconds >= size and unit != "years"):
            return f"{seconds / size:.0f} {unit} ago"
    return "just now" if seconds >= -60 else "in the future"


@register.filter
def meant(text: str | None) -> tuple[str, ...]:
    """What may be meant by a text with commas in its numbers; empty where it has none."""
    return meant_by(text or "")


@register.filter
def at_key(mapping: Any, key: Any) -> Any:
    """The value of a key, empty where it is not there."""
    return mapping.get(key, "") if mapping else ""


@register.filter
def cell(value: Any) -> str:
    """A table's cell: numbers to four digits, a dash where nothing is known."""
    if value is None:
        return "–"
    return f"{value:.4g}" if isinstance(value, float) else str(value)


@register.filter
def spread(value: Any, us: bool = False) -> str:
    """A length with its limits: "57 mm (21 mm to 92 mm)"."""
    from tripmargin.pictures.margins import cell as margin_cell
    from tripmargin.pictures.margins import span
    from tripmargin.pictures.words import length_unit

    unit = length_unit(us)[0]
    within = span(value, us)
    return f"{margin_cell(value, us)} {unit}" + (f" ({within} {unit})" if within else "")


@register.filter
def state_class(verdict: str) -> str:
    """The hatching of a verdict: a class of look.css."""
    known = {"protected": "protected", "doubtful": "doubtful", "not protected": "not", "not": "not"}
    return known.get(verdict, "unknown")
