"""Which role a page needs: every view says so, and one that does not is refused."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse

from tripmargin.ground.languages import say, say_as
from tripmargin.records.store.models import Role

View = Callable[..., HttpResponse]
ANYBODY = 0
LOOK: Any = Role.LOOK
LOG: Any = Role.LOG
SET: Any = Role.SET
OWN: Any = Role.OWN


def role_said(role: int | str) -> str:
    """A role by its name, in the reader's language; given by its number, or as it is kept."""
    words = {
        "look": say_as("role", "look"),
        "log": say_as("role", "log"),
        "set": say_as("role", "set"),
        "own": say_as("role", "own"),
    }
    kept = Role(role).label if isinstance(role, int) else role
    return words.get(kept, kept)


def needs(role: int, *, to_write: int | None = None) -> Callable[[View], View]:
    """Let in whoever has this role; for anything but GET and HEAD, the role to write.

    `ANYBODY` needs nobody signed in. The middleware `SignedIn` refuses every view that does not
    say what it needs, so that a new page is closed until somebody thought about it.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **more: Any) -> HttpResponse:
            reading = request.method in ("GET", "HEAD", "OPTIONS")
            wanted = role if reading or to_write is None else to_write
            if wanted != ANYBODY and not request.user.may(wanted):
                raise PermissionDenied(
                    say(
                        "This needs the role “{needed}”; yours is “{yours}”.",
                        needed=role_said(wanted),
                        yours=role_said(request.user.role),
                    )
                )
            return view(request, *args, **more)

        guarded.role = role  # type: ignore[attr-defined]
        return guarded

    return decorate
