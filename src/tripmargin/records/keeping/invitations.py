"""Links that let one person in, once: only a hash of each is kept."""

from __future__ import annotations

import base64
import hashlib
import secrets
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.crypto import salted_hmac

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.records.keeping.audit import note_change
from tripmargin.records.keeping.people import (
    OWN,
    PersonError,
    cleaned_name,
    name_taken,
    wrong_with_password,
)
from tripmargin.records.store.models import Invitation, Person, Role

LASTS = timedelta(days=3)
OWNER_LASTS = timedelta(hours=24)
SERVER = "the server"
"""Who makes the owner's link: whoever may start the server may read the records anyway."""


class LinkError(TripmarginError):
    """A link that lets nobody in: never made, used, replaced, or too old; the text says no more."""

    def __init__(self) -> None:
        super().__init__(say("This link was used, was replaced by a newer one, or is too old."))


@dataclass(frozen=True, slots=True)
class Link:
    """An invitation together with the secret half of its address, which is not kept."""

    invitation: Invitation
    token: str


def owner_link() -> Link:
    """A link for one more owner, made by whoever starts the server; an older one is void."""
    with transaction.atomic():
        _void(Invitation.objects.filter(made_by_name=SERVER, person=None))
        link = _made(secrets.token_urlsafe(32), OWN, None, SERVER, OWNER_LASTS)
        note_change("owner's link made", who_name=SERVER)
    return link


def invite(
    *, role: int, by: Person, person: Person | None = None, uid: UUID, address: str = ""
) -> Link:
    """A link for somebody new, or for a new password of `person`.

    `uid` is the form's own: the same form sent twice gives the same link, so that a bad connection
    makes no second one. The token comes from it and the server's secret; neither is kept with it.

    Raises
    ------
    LinkError
        If the link of this form was used meanwhile.
    """
    of = f"{uid}/{by.pk}/{role}/{person.pk if person else ''}"
    token = _text(salted_hmac("tripmargin.invitation", of, algorithm="sha256").digest())
    with transaction.atomic():
        again = Invitation.objects.filter(token_hash=_hash(token)).first()
        if again is not None:
            if _void_now(again):
                raise LinkError
            return Link(again, token)
        if person is not None:
            _void(person.invitations)
        link = _made(token, role, person, by.name, LASTS)
        what = "password link made" if person else "invited"
        note_change(what, person.name if person else "", who=by, address=address,
                    role=Role(role).label)  # fmt: skip
    return link


def _made(token: str, role: int, person: Person | None, by_name: str, lasts: timedelta) -> Link:
    now = timezone.now()
    invitation = Invitation.objects.create(
        token_hash=_hash(token), role=role, person=person, made_by_name=by_name, made_at=now,
        expires_at=now + lasts,
    )  # fmt: skip
    return Link(invitation, token)


def open_invitations() -> QuerySet:
    """Those that still let somebody new in, the newest first."""
    return Invitation.objects.filter(
        person=None, used_at=None, expires_at__gt=timezone.now()
    ).order_by("-made_at")


def take_back(invitation: Invitation, *, by: Person, address: str = "") -> None:
    """Make a link void before anybody used it."""
    with transaction.atomic():
        if _void(Invitation.objects.filter(pk=invitation.pk)):
            note_change(
                "invitation taken back",
                who=by,
                address=address,
                role=Role(invitation.role).label,
            )


def invitation_of(token: str) -> Invitation:
    """The invitation of a link.

    Raises
    ------
    LinkError
        If it lets nobody in, for whatever reason.
    """
    found = Invitation.objects.select_related("person").filter(token_hash=_hash(token)).first()
    if found is None or _void_now(found):
        raise LinkError
    return found


def accept(token: str, *, name: str = "", password: str, address: str = "") -> Person:
    """Let a person in by a link: a new one, or one who gets a new password.

    Two who use a link at the same moment: the first row that is marked wins, the other is refused.

    Raises
    ------
    LinkError
        As in `invitation_of`.
    PersonError
        If name or password cannot be; the link stays good.
    """
    invitation = invitation_of(token)
    person = invitation.person
    name = person.name if person else _free_name(name, password)
    wrong = wrong_with_password(password, name)
    if wrong:
        raise PersonError({"password": wrong})
    made = person or Person(name=name, role=invitation.role)
    made.set_password(password)  # slow by intent, so before anything is locked
    try:
        with transaction.atomic():
            _use(invitation)
            if person is not None:
                person.save(update_fields=["password"])
            else:
                made.save(force_insert=True)
            what = "password renewed by link" if person else "came in by link"
            note_change(what, made.name, who=made, address=address, role=Role(made.role).label,
                        **{"link made by": invitation.made_by_name})  # fmt: skip
    except IntegrityError as error:  # the name was taken at the same moment
        raise PersonError({"name": (_taken(name),)}) from error
    return made


def _free_name(name: str, password: str) -> str:
    """The name, cleaned; what is wrong with the password is told along with it."""
    wrong: dict[str, tuple[str, ...]] = {}
    try:
        name = cleaned_name(name)
        if name_taken(name):
            wrong["name"] = (_taken(name),)
    except PersonError as error:
        wrong["name"] = tuple(error.wrong["name"])
    if wrong:
        troubles = wrong_with_password(password, name)
        raise PersonError({**wrong, "password": troubles} if troubles else wrong)
    return name


def _taken(name: str) -> str:
    return say(
        "There is a “{name}” already. Add something, such as the first letter of the surname.",
        name=name,
    )


def _use(invitation: Invitation) -> None:
    """Mark as used, if nobody else did, and the person was not switched off meanwhile."""
    now = timezone.now()
    mine = Invitation.objects.filter(pk=invitation.pk, used_at=None, expires_at__gt=now)
    if not mine.update(used_at=now):
        raise LinkError
    if (
        invitation.person_id
        and not Person.objects.filter(pk=invitation.person_id, is_active=True).exists()
    ):
        raise LinkError


def _void(which: QuerySet) -> int:
    now = timezone.now()
    return int(which.filter(used_at=None, expires_at__gt=now).update(expires_at=now))


def _void_now(invitation: Invitation) -> bool:
    return invitation.used_at is not None or invitation.expires_at <= timezone.now()


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _text(digest: bytes) -> str:
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode("ascii")
