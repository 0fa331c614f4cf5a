"""Photos, served so that a browser does nothing with them but show them."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from tripmargin.records.store.models import Photo
from tripmargin.web.doors.roles import LOOK, needs

_ENDING = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}


@needs(LOOK)
@require_safe
def photo(request: HttpRequest, uid: UUID) -> HttpResponse:
    """A photo as it came."""
    found = get_object_or_404(Photo.objects.only("uid", "content_type", "content"), uid=uid)
    return _served(bytes(found.content), found.content_type, f"photo-{found.uid}")


@needs(LOOK)
@require_safe
def small_photo(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The small one for a list."""
    found = get_object_or_404(Photo.objects.only("uid", "small"), uid=uid)
    return _served(bytes(found.small), "image/jpeg", f"photo-{found.uid}-small")


def _served(content: bytes, content_type: str, name: str) -> HttpResponse:
    return HttpResponse(
        content,
        headers={
            "Content-Type": content_type,
            "Content-Disposition": f'inline; filename="{name}.{_ENDING[content_type]}"',
            "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": "default-src 'none'; sandbox",
            # Packed already: packing it once more costs time and saves nothing.
            "Content-Encoding": "identity",
        },
    )
