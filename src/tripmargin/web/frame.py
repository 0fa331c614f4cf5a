"""What every page is framed by: who is signed in, sun mode, units."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlsplit

from django.core.exceptions import DisallowedHost
from django.http import HttpRequest

from tripmargin.ground.languages import known_languages, language, numeral, say
from tripmargin.pictures.words import SAFETY

SUN_COOKIE, WIDTH_COOKIE = "tripmargin_sun", "tripmargin_width"
PHONE_WIDTH, DESK_WIDTH = 360.0, 640.0  # px, of a picture


def frame(request: HttpRequest) -> dict[str, Any]:
    """The context of every page."""
    person: Any = getattr(request, "user", None)
    signed_in = bool(person and person.is_authenticated)
    return {
        "person": person if signed_in else None,
        "may_log": signed_in and person.may(2),
        "may_set": signed_in and person.may(3),
        "may_own": signed_in and person.may(4),
        "sun": in_the_sun(request),
        "us": us_units(request),
        "safety": say(SAFETY),
        "language": language(),
        "languages": known_languages(),
        "back_to": page_address(request),
        "decimal_sign": numeral(0.5, ".1f")[1],  # for the page's script
    }


def page_address(request: HttpRequest) -> str:
    """Where the page stands that is shown: what its small forms come back to.

    What answers a form may stand at an address that only takes forms; then it is the page that the
    form stood on, if the browser says so.
    """
    if request.method != "POST":
        return request.get_full_path()
    sent_from = urlsplit(request.headers.get("Referer", ""))
    try:
        here = request.get_host()
    except DisallowedHost:  # a page that refuses is shown before anybody looked at the host
        return "/"
    if sent_from.netloc != here or not sent_from.path.startswith("/"):
        return "/"
    return f"{sent_from.path}?{sent_from.query}" if sent_from.query else sent_from.path


def in_the_sun(request: HttpRequest) -> bool:
    """Whether this browser asked for the greatest contrast."""
    return request.COOKIES.get(SUN_COOKIE) == "1"


def us_units(request: HttpRequest) -> bool:
    """Whether this person reads inches."""
    person = getattr(request, "user", None)
    return bool(person and person.is_authenticated and person.us_units)


def picture_width(request: HttpRequest) -> float:
    """How wide pictures are to be drawn, px: the page's script says how wide the screen is.

    Without it a phone is taken: its picture can be read on a desk, a desk's not on a phone.
    """
    said = request.COOKIES.get(WIDTH_COOKIE, "")
    wide = said.isascii() and said.isdecimal() and len(said) < 6 and int(said) >= 720
    if wide:
        return DESK_WIDTH
    narrow = int(said) if said.isascii() and said.isdecimal() and len(said) < 6 else PHONE_WIDTH
    return float(min(max(narrow, 320), PHONE_WIDTH))
