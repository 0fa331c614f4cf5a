"""Headers that hold a browser to this server: what may run, be loaded, or frame us."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "object-src 'none'",
    )
)
"""Content Security Policy Level 3: nothing inline, no eval, nothing from elsewhere."""


class Headers:
    """Sets the headers that Django's own middleware does not."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, with the headers added; a view may set a stricter policy of its own."""
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers.setdefault("X-Frame-Options", "DENY")
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault(
            "Permissions-Policy", "camera=(self), microphone=(self), geolocation=(), payment=()"
        )
        if not request.path.startswith("/static/"):
            # Nothing that a person saw stays in a shared computer's cache.
            response.headers.setdefault("Cache-Control", "no-store")
        return response
