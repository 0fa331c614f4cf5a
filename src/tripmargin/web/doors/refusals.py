"""Pages that say no: what happened, and what to do, in one look with all others."""

from __future__ import annotations

from django.conf import settings
from django.core.exceptions import (
    DisallowedHost,
    RequestDataTooBig,
    TooManyFieldsSent,
    TooManyFilesSent,
)
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def refusal(request: HttpRequest, status: int, title: str, text: str) -> HttpResponse:
    """A page that says what happened and what to do."""
    return render(request, "refusal.html", {"title": title, "text": text}, status=status)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Something that no page of ours sends, or too much of it."""
    back = "Nothing was saved. Go back: what you typed is still there."
    if isinstance(exception, DisallowedHost):
        return refusal(
            request, 400, "Not under this name",
            "This server does not answer to the name in the address. Use the address that it"
            " printed when it was started, or start it under that name: --host NAME.",
        )  # fmt: skip
    if isinstance(exception, RequestDataTooBig):
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE / 1e6
        words = f"The form holds more than {most:.0f} MB of text. {back}"
        return refusal(request, 413, "Too large", words)
    if isinstance(exception, TooManyFieldsSent):
        most = settings.DATA_UPLOAD_MAX_NUMBER_FIELDS
        return refusal(request, 400, "Too many fields", f"At most {most} are taken. {back}")
    if isinstance(exception, TooManyFilesSent):
        most = settings.DATA_UPLOAD_MAX_NUMBER_FILES
        return refusal(request, 400, "Too many files", f"At most {most} at once. {back}")
    return refusal(request, 400, "That cannot be read", f"The request was not whole. {back}")


def not_allowed(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """A role that does not reach."""
    said = str(exception) if exception and str(exception) else "Your role does not reach this page."
    return refusal(request, 403, "Not yours to do", f"{said} Ask an owner of this workshop.")


def forged(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form whose token does not fit."""
    return refusal(
        request, 403, "The form was too old",
        "Nothing was saved. Go back, reload the page, and send it again.",
    )  # fmt: skip


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Nothing there, or nothing that this person may see: the two look alike."""
    return refusal(
        request, 404, "Nothing here",
        "There is no such page or entry. It may have another address; start from the machines.",
    )  # fmt: skip


def broken(request: HttpRequest) -> HttpResponse:
    """A mistake of ours; as plain as can be, for anything may be broken."""
    return HttpResponse(
        "<!doctype html><html lang=en><title>A mistake of ours</title><h1>A mistake of ours</h1>"
        "<p>The page could not be made. What was saved before is safe. Go back and try again.</p>",
        status=500,
    )
