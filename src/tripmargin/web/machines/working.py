"""A few long computations at a time: whoever turns every slider must not hold up all others."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from threading import BoundedSemaphore
from typing import Any

from django.http import HttpRequest, HttpResponse

from tripmargin.ground.languages import say
from tripmargin.web.doors.refusals import refusal

AT_ONCE = 3
"""Of a process's eight threads: the others go on answering lists, forms and the log."""
PATIENCE = 20.0  # s
_room = BoundedSemaphore(AT_ONCE)


def a_few_at_once(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Let three in at a time; who waits too long is told so, with 503."""

    @wraps(view)
    def waiting(request: HttpRequest, *args: Any, **more: Any) -> HttpResponse:
        if not _room.acquire(timeout=PATIENCE):
            words = say("The server is working on other maps. Wait a moment, then try again.")
            answer = refusal(request, 503, say("Busy"), words)
            answer.headers["Retry-After"] = "20"
            return answer
        try:
            return view(request, *args, **more)
        finally:
            _room.release()

    return waiting
