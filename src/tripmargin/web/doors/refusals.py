"""Pages that say no: what happened, and what to do, in one look with all others."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def _refusal(request: HttpRequest, status: int, title: str, text: str) -> HttpResponse:
    return render(request, "refusal.html", {"title": title, "text": text}, status=status)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Something that no page of ours sends."""
    return _refusal(
        request, 400, "That cannot be read",
        "The request was too large or not whole. Go back: what you typed is still there.",
    )  # fmt: skip


def not_allowed(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """A role that does not reach."""
    said = str(exception) if exception and str(exception) else "Your role does not reach this page."
    return _refusal(request, 403, "Not yours to do", f"{said} Ask an owner of this workshop.")


def forged(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form whose token does not fit."""
    return _refusal(
        request, 403, "The form was too old",
        "Nothing was saved. Go back, reload the page, and send it again.",
    )  # fmt: skip


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Nothing there, or nothing that this person may see: the two look alike."""
    return _refusal(
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
