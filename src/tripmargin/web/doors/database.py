"""When the database refuses: a full disk, another writer, a server that is away."""

from __future__ import annotations

import logging
from collections.abc import Callable

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse

from tripmargin.ground.languages import say
from tripmargin.records.home import way_out
from tripmargin.web.doors.refusals import refusal

_log = logging.getLogger(__name__)


class DatabaseRefused:
    """Says in words what could not be written; a phone keeps its entry and sends it later."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """A page with status 503 for what the database refused; None for any other exception."""
        if not isinstance(exception, OperationalError | InterfaceError):
            return None
        _log.error("The database refused %s: %s", request.path, exception)
        said = str(exception).strip().partition("\n")[0]
        answer = refusal(
            request,
            503,
            say("The records cannot be written"),
            say(
                "Nothing was saved. {way_out} Go back: what you typed is still there.",
                way_out=way_out(said) or say("Tell whoever looks after the server."),
            ),
        )
        answer.headers["Retry-After"] = "30"
        return answer
