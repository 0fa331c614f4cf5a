"""Limits: how often somebody may do a thing, and how much a request may hold."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from functools import wraps
from math import ceil
from typing import Any

from django.http import HttpRequest, HttpResponse

from tripmargin.ground.languages import say, say_many
from tripmargin.records.keeping.limits import take_turn
from tripmargin.web.doors.refusals import refusal

View = Callable[..., HttpResponse]
LARGEST_REQUEST = 50_000_000
"""Bytes of a whole request, its photos included."""
LARGEST_RECORDING = 61_000_000
"""Bytes of a request with a recording: 60 MB of it, and the form around it."""
_RECORDING = re.compile(r"/machines/[0-9a-f-]{36}/measure/(stop|noise)/")


def address_of(request: HttpRequest) -> str:
    """Where a request comes from; the server has put in what a trusted proxy says of it."""
    return str(request.META.get("REMOTE_ADDR", ""))[:64]


def limited(
    what: str, *, times: int, within: timedelta, with_files: bool = False
) -> Callable[[View], View]:
    """Let each person do this so many times within a while, or each address.

    Only requests that write are counted, over all processes of the server; `with_files`: only those
    that bring a file. Stands under `needs`::

        @needs(LOG)
        @limited("upload", times=30, within=timedelta(minutes=10))
        def add_photo(request): ...
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def counted(request: HttpRequest, *args: Any, **more: Any) -> HttpResponse:
            writes = request.method not in ("GET", "HEAD", "OPTIONS")
            if writes and (request.FILES or not with_files):
                person: Any = request.user
                by = f"person {person.pk}" if person.is_authenticated else address_of(request)
                wait = take_turn(what, by, times=times, within=within)
                if wait is not None:
                    return _too_often(request, what, times, within, wait)
            return view(request, *args, **more)

        return counted

    return decorate


def in_words(wait: timedelta) -> str:
    """How long, in one unit, never less than it is.

    >>> in_words(timedelta(seconds=29.2)), in_words(timedelta(seconds=150))
    ('30 seconds', '3 minutes')
    """
    seconds = max(1, ceil(wait.total_seconds()))
    if seconds < 120:
        return say_many("{count} second", "{count} seconds", seconds)
    return say_many("{count} minute", "{count} minutes", ceil(seconds / 60))


def with_wait(answer: HttpResponse, wait: timedelta) -> HttpResponse:
    """The answer with the header that tells a program how long to wait (RFC 9110, 10.2.3)."""
    answer.headers["Retry-After"] = str(max(1, ceil(wait.total_seconds())))
    return answer


def _too_often(
    request: HttpRequest, what: str, times: int, within: timedelta, wait: timedelta
) -> HttpResponse:
    words = say(
        "Nothing was saved: {times} times in {within} is the most for “{what}”."
        " Wait {wait}, go back, and send it again.",
        times=times,
        within=in_words(within),
        what=_what_said(what),
        wait=in_words(wait),
    )
    return with_wait(refusal(request, 429, say("Too often"), words), wait)


def _what_said(what: str) -> str:
    words = {
        "upload": say("upload"),
        "import": say("import"),
        "corrections": say("corrections"),
        "photos": say("photos"),
        "recordings": say("recordings"),
        "card": say("card"),
        "open class": say("open class"),
        "practise": say("practise"),
    }
    return words.get(what, what)


class RequestSize:
    """Refuses a request that is too large, before anybody reads it, with a page that says so."""

    def __init__(self, get_response: View) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on what is small enough."""
        said = request.META.get("CONTENT_LENGTH") or "0"
        size = int(said) if said.isascii() and said.isdigit() else 0
        most = LARGEST_RECORDING if _RECORDING.fullmatch(request.path) else LARGEST_REQUEST
        if size > most:
            words = say(
                "Nothing was saved: this was {size:.1f} MB, and at most {most:.0f} MB are taken at"
                " once. Go back, choose fewer or smaller files, and send it again.",
                size=size / 1e6,
                most=most / 1e6,
            )
            return refusal(request, 413, say("Too large"), words)
        return self.get_response(request)
