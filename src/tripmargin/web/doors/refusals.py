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
from django.utils.html import escape

from tripmargin.ground.languages import language, say


def refusal(request: HttpRequest, status: int, title: str, text: str) -> HttpResponse:
    """A page that says what happened and what to do."""
    return render(request, "refusal.html", {"title": title, "text": text}, status=status)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Something that no page of ours sends, or too much of it."""
    back = say("Nothing was saved. Go back: what you typed is still there.")
    if isinstance(exception, DisallowedHost):
        words = say(
            "This server does not answer to the name in the address. Use the address that it"
            " printed when it was started, or start it under that name: --host NAME."
        )
        return refusal(request, 400, say("Not under this name"), words)
    if isinstance(exception, RequestDataTooBig):
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE / 1e6
        words = say("The form holds more than {most:.0f} MB of text. {back}", most=most, back=back)
        return refusal(request, 413, say("Too large"), words)
    if isinstance(exception, TooManyFieldsSent):
        most = settings.DATA_UPLOAD_MAX_NUMBER_FIELDS
        words = say("At most {most} are taken. {back}", most=most, back=back)
        return refusal(request, 400, say("Too many fields"), words)
    if isinstance(exception, TooManyFilesSent):
        most = settings.DATA_UPLOAD_MAX_NUMBER_FILES
        words = say("At most {most} at once. {back}", most=most, back=back)
        return refusal(request, 400, say("Too many files"), words)
    words = say("The request was not whole. {back}", back=back)
    return refusal(request, 400, say("That cannot be read"), words)


def not_allowed(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """A role that does not reach."""
    why = str(exception) if exception else ""
    why = why or say("Your role does not reach this page.")
    words = say("{why} Ask an owner of this workshop.", why=why)
    return refusal(request, 403, say("Not yours to do"), words)


def forged(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form whose token does not fit."""
    words = say("Nothing was saved. Go back, reload the page, and send it again.")
    return refusal(request, 403, say("The form was too old"), words)


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Nothing there, or nothing that this person may see: the two look alike."""
    words = say(
        "There is no such page or entry. It may have another address; start from the machines."
    )
    return refusal(request, 404, say("Nothing here"), words)


def broken(request: HttpRequest) -> HttpResponse:
    """A mistake of ours; as plain as can be, for anything may be broken."""
    title = escape(say("A mistake of ours"))
    words = say("The page could not be made. What was saved before is safe. Go back and try again.")
    return HttpResponse(
        f"<!doctype html><html lang={language()}><title>{title}</title><h1>{title}</h1>"
        f"<p>{escape(words)}</p>",
        status=500,
    )
