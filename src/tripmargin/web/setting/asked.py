"""What a form says: it stands in the address, so that going back and reloading lose nothing."""

from __future__ import annotations

from django.http import HttpRequest, QueryDict

from tripmargin.web.mending import PREFIX


def said_in(request: HttpRequest) -> QueryDict:
    """The form's texts; what a button offers for a comma stands in its box (see web/mending)."""
    said = (request.POST if request.method == "POST" else request.GET).copy()
    for key in [key for key in said if key.startswith(PREFIX)]:
        said[key.removeprefix(PREFIX)] = str(said.pop(key)[-1])
    return said
