"""A comma in a number mended at one touch: what the button beside a box sends.

The button is one of the form itself, so that it works without a script: the server puts the text
that it offers into the box and goes on as if that had been typed.
"""

from __future__ import annotations

from django.http import HttpRequest

PREFIX = "mend."
"""Before the name of the box in the name of the button (templates/mends.html)."""


def take_mends(request: HttpRequest) -> tuple[str, ...]:
    """Put what a button offered into the box that it stands beside; the names of such boxes."""
    pressed = [name for name in request.POST if name.startswith(PREFIX)]
    if not pressed:
        return ()
    post = request.POST.copy()
    for name in pressed:
        post[name.removeprefix(PREFIX)] = str(post.pop(name)[-1])
    post._mutable = False
    request.POST = post
    return tuple(name.removeprefix(PREFIX) for name in pressed)
