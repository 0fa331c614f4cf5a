"""The page where the log of all machines leaves as a file, and a file comes in."""

from __future__ import annotations

from datetime import timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from tripmargin.ground.languages import say, say_many
from tripmargin.records.exchange.importing import By, Imported
from tripmargin.records.keeping.sizes import LARGEST_LOG_FILE
from tripmargin.records.store.models import Machine
from tripmargin.web.doors.limits import address_of, limited
from tripmargin.web.doors.roles import LOOK, OWN, needs
from tripmargin.web.log.looking_in import Looked, look_into


@needs(LOOK, to_write=OWN)
@require_http_methods(["GET", "POST"])
@limited("import", times=20, within=timedelta(minutes=10))
def exchange(request: HttpRequest) -> HttpResponse:
    """Downloads of all machines, and the form that brings a file in.

    Bringing in needs the role to own. No form lets anybody write under another's name or put the
    time at which an entry came in; a file does both, and may put a machine away. What then tells
    who did it is the audit alone, and that is an owner's to read.
    """
    if request.method != "POST":
        return render(request, "log/exchange.html", _page(request, None))
    bring = request.POST.get("do") == "bring"
    looked = look_into(
        request.FILES.get("file"), bring=bring, seen=request.POST.get("seen", ""),
        by=By(who=request.user, address=address_of(request)),
    )  # fmt: skip
    if looked.brought and looked.found is not None:
        messages.success(request, _brought_words(looked.name, looked.found))
        if request.htmx:
            return HttpResponse(status=204, headers={"HX-Redirect": reverse("log-exchange")})
        return redirect("log-exchange")
    template = "log/exchange_answer.html" if request.htmx else "log/exchange.html"
    return render(request, template, _page(request, looked), status=422 if looked.trouble else 200)


def _page(request: HttpRequest, looked: Looked | None) -> dict[str, object]:
    return {
        "here": "machines",
        "looked": looked,
        "most": f"{LARGEST_LOG_FILE / 1e6:.0f} MB",
        "any": Machine.objects.exists(),
        "choose_again": not request.htmx,
    }


def _brought_words(name: str, found: Imported) -> str:
    if found.nothing_new:
        return say_many(
            "The one entry of {name} is here already. Nothing was added.",
            "All {count} entries of {name} are here already. Nothing was added.",
            found.there,
            name=name,
        )
    entries = say_many("{count} new entry", "{count} new entries", found.new)
    if not found.there:
        return say("{name} is in: {entries}.", name=name, entries=entries)
    here = say_many("{count} was here already", "{count} were here already", found.there)
    return say("{name} is in: {entries}; {here}.", name=name, entries=entries, here=here)
