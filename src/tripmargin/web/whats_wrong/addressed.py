"""What an address or a form of fault finding names."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.http import Http404, HttpRequest

from tripmargin.records.keeping.cases import By
from tripmargin.records.store.models import FaultCase


def case_at(uid: UUID) -> FaultCase:
    """The case of an address.

    Raises
    ------
    Http404
        If there is none.
    """
    case = FaultCase.objects.select_related("machine", "version").filter(uid=uid).first()
    if case is None:
        raise Http404
    return case


def uid_sent(request: HttpRequest) -> UUID:
    """The id that a form was made with; a new one where it has none that can be read."""
    try:
        return UUID(request.POST.get("uid", ""))
    except ValueError:
        return uuid4()


def number_sent(request: HttpRequest, name: str) -> int:
    """A number of a form or an address; 0 where it is none."""
    said = request.POST.get(name, request.GET.get(name, ""))
    return int(said) if said.isascii() and said.isdecimal() and len(said) < 10 else 0


def sender(request: HttpRequest) -> By:
    """Who sends a form, and its id."""
    return By(request.user, uid=uid_sent(request))
