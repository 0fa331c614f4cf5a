"""What a phone needs to go on without a connection: a worker, a page, and a fresh token."""

from __future__ import annotations

import json
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.templatetags.static import static
from django.views.decorators.http import require_safe

from tripmargin.web.doors.roles import ANYBODY, needs

_KEPT = (
    "tripmargin/mark.svg", "tripmargin/look.css", "tripmargin/log.css", "tripmargin/page.js",
    "tripmargin/local_times.js", "tripmargin/mend.js", "tripmargin/outbox.js",
    "tripmargin/log_form.js",
    "django_htmx/htmx-2.min.js",
)  # fmt: skip
_WORKER = Path(__file__).parents[1] / "static" / "tripmargin" / "worker.js"


@needs(ANYBODY)
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker; from here, for it may serve only what lies beside or below it."""
    return HttpResponse(
        _worker(), content_type="text/javascript", headers={"Cache-Control": "no-cache"}
    )


@lru_cache(maxsize=1)
def _worker() -> str:
    """Its text, headed by the files that it keeps; their names change with what they hold."""
    kept = json.dumps([static(name) for name in _KEPT])
    text = _WORKER.read_text(encoding="utf-8")
    version = sha256((kept + text).encode()).hexdigest()[:12]
    return f"const VERSION = {json.dumps(version)};\nconst KEPT = {kept};\n{text}"


@needs(ANYBODY)
@require_safe
def no_connection(request: HttpRequest) -> HttpResponse:
    """What is shown without a connection; the same for everybody."""
    return render(request, "log/offline.html")


@needs(ANYBODY)
@require_safe
def outbox(request: HttpRequest) -> HttpResponse:
    """Who is signed in, and a token for sending what was kept on the phone."""
    signed_in = request.user.is_authenticated
    return JsonResponse(
        {
            "person": request.user.pk if signed_in else None,
            "name": str(request.user) if signed_in else "",
            "token": get_token(request) if signed_in else "",
        }
    )
