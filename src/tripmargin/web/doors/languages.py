"""Which language a browser reads: chosen on a page, else what it asks for."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import translation
from django.utils.cache import patch_vary_headers
from django.utils.translation.trans_real import parse_accept_lang_header
from django.views.decorators.http import require_POST

from tripmargin.ground.languages import ENGLISH, known_languages, speaking
from tripmargin.web.doors.roles import ANYBODY, needs
from tripmargin.web.doors.signing_in import safe_next

LANGUAGE_COOKIE = "tripmargin_language"


class Speaking:
    """Speaks the reader's language while a page is made, in our own words and in Django's."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """The page, and the word of which language it is in."""
        code = language_of(request)
        with speaking(code), translation.override(code):
            response = self.get_response(request)
        response.headers.setdefault("Content-Language", code)
        patch_vary_headers(response, ("Accept-Language", "Cookie"))
        return response


def language_of(request: HttpRequest) -> str:
    """The language to speak to this browser; English where it asks for none that we know."""
    known = known_languages()
    chosen = request.COOKIES.get(LANGUAGE_COOKIE, "")
    if chosen in known:
        return chosen
    asked = request.headers.get("Accept-Language", "")
    # "de-AT;q=0.8" asks for German; RFC 9110, 12.5.4.
    for tag, _weight in parse_accept_lang_header(asked):
        code = tag.partition("-")[0]
        if code in known:
            return code
    return ENGLISH


@needs(ANYBODY)
@require_POST
def language(request: HttpRequest) -> HttpResponse:
    """Speak another language to this browser from now on."""
    response = redirect(safe_next(request))
    chosen = request.POST.get("language", "")
    if chosen in known_languages():
        response.set_cookie(
            LANGUAGE_COOKIE, chosen, max_age=365 * 86400, samesite="Lax",
            httponly=True, secure=request.is_secure(),
        )  # fmt: skip
    return response
