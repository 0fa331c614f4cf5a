"""People: their names, roles and passwords; every change leaves a line in the audit."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from tripmargin.ground.errors import TripmarginError, shortened
from tripmargin.ground.languages import say
from tripmargin.ground.languages.lists import listed
from tripmargin.records.keeping.audit import note_change
from tripmargin.records.store.models import Invitation, Person, Role
from tripmargin.records.store.models.people import LONGEST_NAME, name_key

LONGEST_PASSWORD = 200
OWN: Any = Role.OWN


class PersonError(TripmarginError, ValueError):
    """Something about a person that cannot be; `.wrong`: "name" or "password" to its words."""

    def __init__(self, wrong: Mapping[str, Sequence[str]]) -> None:
        self.wrong = wrong
        super().__init__("\n".join(words for each in wrong.values() for words in each))


class LastOwnerError(TripmarginError, ValueError):
    """The last owner would be lost: then nobody could let anybody in."""


def same_name(name: str) -> str:
    """A name as it is kept: one spelling of each letter, single blanks."""
    return " ".join(unicodedata.normalize("NFKC", name).split())


def cleaned_name(name: str) -> str:
    """A name with the letters that any keyboard finds again.

    Raises
    ------
    PersonError
        If it is empty, too long, holds signs that nobody sees, or mixes scripts whose letters look
        alike.

    Examples
    --------
    >>> cleaned_name("  Ann   Miller ")
    'Ann Miller'
    """
    cleaned = same_name(name)
    if not cleaned.strip("".join(_JOINERS)):
        raise PersonError({"name": (say("A name is needed, such as your first name."),)})
    if unseen_in(cleaned):
        raise PersonError({"name": (say("The name holds signs that nobody sees. Type it anew."),)})
    scripts = alike_scripts_in(cleaned)
    if len(scripts) > 1:
        words = say(
            "The name mixes {scripts} letters. Some of them look alike, so it could be"
            " taken for somebody else's. Write all of it in one script.",
            scripts=listed(map(_script_said, scripts)),
        )
        raise PersonError({"name": (words,)})
    if len(cleaned) > LONGEST_NAME:
        words = say(
            "“{name}” has {count} letters; at most {most}.",
            name=shortened(cleaned, 20),
            count=len(cleaned),
            most=LONGEST_NAME,
        )
        raise PersonError({"name": (words,)})
    return cleaned


_ZWJ, _AS_EMOJI = _JOINERS = ("\u200d", "\ufe0f")
"""Within an emoji that is made of several: seen there, and nowhere else."""
_EMOJI = ("So", "Sk")
_BLANK = (
    "\u034f\u115f\u1160\u17b4\u17b5\u180b\u180c\u180d\u180f\u2800\u3164\uffa0"
    + "".join(map(chr, range(0xFE00, 0xFE10)))
    + "".join(map(chr, range(0xE0100, 0xE01F0)))
)
"""Letters and marks that show nothing: Unicode's Default_Ignorable_Code_Point besides those of
category Cf, and the blank Braille pattern (from memory)."""
_LOOK_ALIKE = ("Latin", "Greek", "Cyrillic")
"""Scripts that share the look of many letters (Unicode Technical Standard 39, from memory)."""


def unseen_in(name: str) -> bool:
    r"""Whether a name holds a sign that shows nothing, or that no keyboard has.

    >>> unseen_in("An\u200dn"), unseen_in("\u3164Ann"), unseen_in("J\u00f6rg")
    (True, True, False)
    """
    for place, sign in enumerate(name):
        if sign in _JOINERS:
            if not _joins(sign, name[:place], name[place + 1 :]):
                return True
        elif sign in _BLANK or unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Co"):
            return True
    return False


def _joins(sign: str, before: str, after: str) -> bool:
    """Whether a joiner stands within an emoji."""
    if sign == _ZWJ:
        before = before.removesuffix(_AS_EMOJI)
        if not after or unicodedata.category(after[0]) not in _EMOJI:
            return False
    return bool(before) and unicodedata.category(before[-1]) in _EMOJI


def _script_said(script: str) -> str:
    """A script's name, as people read it."""
    named = {"Latin": say("Latin"), "Greek": say("Greek"), "Cyrillic": say("Cyrillic")}
    return named.get(script, script)


def alike_scripts_in(name: str) -> tuple[str, ...]:
    r"""Which of the scripts that look alike a name has letters of, by the letters' Unicode names.

    >>> alike_scripts_in("J\u00f6rg 2"), alike_scripts_in("\u0410nn")
    (('Latin',), ('Latin', 'Cyrillic'))
    """
    said = {unicodedata.name(sign, "").partition(" ")[0] for sign in name if sign.isalpha()}
    return tuple(script for script in _LOOK_ALIKE if script.upper() in said)


def wrong_with_password(password: str, name: str) -> tuple[str, ...]:
    """What is wrong with a new password, in words; empty where nothing is."""
    if len(password) > LONGEST_PASSWORD:
        return (
            say(
                "The password is too long: at most {most} letters.",
                most=LONGEST_PASSWORD,
            ),
        )
    try:
        validate_password(password, Person(name=name))
    except ValidationError as error:
        return tuple(error.messages)
    return ()


def name_taken(name: str) -> bool:
    """Whether somebody has this name, in whatever capitals."""
    return bool(Person.objects.filter(name_key=name_key(name)).exists())


def has_owner() -> bool:
    """Whether anybody may let others in."""
    return bool(_owners().exists())


def _owners() -> QuerySet:
    return Person.objects.filter(role=OWN, is_active=True)


def change_role(person: Person, role: int, *, by: Person, address: str = "") -> None:
    """Give a person another role; links that a former owner made are void from then on.

    Raises
    ------
    LastOwnerError
        If nobody would be left to let others in.
    """
    with transaction.atomic():
        now = _held(person)
        before: Any = Role(now.role)
        if before == role:
            return
        if role != OWN:
            _keep_an_owner(now)
            _void_links_made_by(now)
        now.role = role
        now.save(update_fields=["role"])
        note_change(
            "role changed",
            now.name,
            who=by,
            address=address,
            before=before.label,
            after=Role(role).label,
        )
    person.role = role


def switch_off(person: Person, *, by: Person, address: str = "") -> None:
    """Shut a person out at once: his sessions end, links for him and by him are void.

    Raises
    ------
    LastOwnerError
        As in `change_role`.
    """
    with transaction.atomic():
        now = _held(person)
        if not now.is_active:
            return
        _keep_an_owner(now)
        now.is_active = False
        now.save(update_fields=["is_active"])
        _end_sessions(now)
        _void_links_made_by(now)
        now.invitations.filter(used_at=None).update(expires_at=timezone.now())
        note_change("switched off", now.name, who=by, address=address)
    person.is_active = False


def switch_on(person: Person, *, by: Person, address: str = "") -> None:
    """Let a person in again, with the password that he had."""
    with transaction.atomic():
        now = _held(person)
        if now.is_active:
            return
        now.is_active = True
        now.save(update_fields=["is_active"])
        note_change("switched on", now.name, who=by, address=address)
    person.is_active = True


def end_sessions(person: Person, *, by: Person, address: str = "") -> None:
    """Sign a person out everywhere."""
    with transaction.atomic():
        _end_sessions(person)
        note_change("signed out everywhere", person.name, who=by, address=address)
    person.refresh_from_db(fields=["sessions_ended"])


def change_password(person: Person, password: str, *, by: Person, address: str = "") -> None:
    """Give a person another password; his sessions end, open links for a new one are void.

    Raises
    ------
    PersonError
        If it can be guessed.
    """
    wrong = wrong_with_password(password, person.name)
    if wrong:
        raise PersonError({"password": wrong})
    person.set_password(password)
    with transaction.atomic():
        person.save(update_fields=["password"])
        person.invitations.filter(used_at=None).update(expires_at=timezone.now())
        note_change("password changed", person.name, who=by, address=address)


def choose_units(person: Person, *, us: bool) -> None:
    """What a person reads: a matter of his own, so the audit has no line of it."""
    person.us_units = us
    person.save(update_fields=["us_units"])


def _held(person: Person) -> Person:
    """The person's row as it is now, and nobody else's hand on any owner's row till the end.

    Two owners who demote each other at the same moment would otherwise leave none.
    """
    list(_owners().select_for_update().order_by("pk"))
    held: Person = Person.objects.select_for_update().get(pk=person.pk)
    return held


def _keep_an_owner(person: Person) -> None:
    if person.may(OWN) and not _owners().exclude(pk=person.pk).exists():
        raise LastOwnerError(
            say(
                "{name} is the last owner. Make somebody else an owner first: otherwise"
                " nobody could let anybody in.",
                name=person.name,
            )
        )


def _end_sessions(person: Person) -> None:
    Person.objects.filter(pk=person.pk).update(sessions_ended=F("sessions_ended") + 1)


def _void_links_made_by(person: Person) -> None:
    now = timezone.now()
    open_links = Invitation.objects.filter(made_by_name=person.name, used_at=None)
    open_links.filter(expires_at__gt=now).update(expires_at=now)
