"""People: who may do what, how they come in, and what they changed."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils import timezone
from django.utils.crypto import salted_hmac

from tripmargin.records.store.models.append_only import AppendOnly

LONGEST_NAME = 60


def name_key(name: str) -> str:
    """What two spellings of one name have in common, on every database alike.

    Caseless matching of compatibility forms: the Unicode Standard, 3.13, D146 (from memory).

    >>> name_key("JÖRG") == name_key("jörg"), name_key("Straße") == name_key("STRASSE")
    (True, True)
    """
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFD", name).casefold())
    return " ".join(unicodedata.normalize("NFKC", folded.casefold()).split())


class Role(models.IntegerChoices):
    """What a person may do; each may do what those before it may."""

    LOOK = 1, "look"
    LOG = 2, "log"
    SET = 3, "set"
    OWN = 4, "own"


class People(BaseUserManager):
    """Makes people."""

    def create_user(self, name: str, password: str | None = None, **more: Any) -> Person:
        """A person with a password, or with none that fits."""
        person: Person = self.model(name=name, **more)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def bulk_create(self, objs: Iterable[Any], *args: Any, **more: Any) -> list[Any]:
        """Many people at once, each with the key of his name."""
        people = list(objs)
        for each in people:
            each.name_key = each.name_key or name_key(each.name)
        made: list[Any] = super().bulk_create(people, *args, **more)
        return made

    def get_by_natural_key(self, name: str | None) -> Person:
        """By name, whatever its capitals: nobody remembers those on a phone.

        The very spelling comes first: of two whose names differ in capitals alone, from before that
        was refused, each has his own.
        """
        found: Person | None = self.filter(name=name or "").first()
        return found or self.get(name_key=name_key(name or ""))


class Person(AbstractBaseUser):
    """Somebody who signs in. Never deleted, for entries name him; switched off instead.

    `name_key` is what a name is found by, `name_key(name)`, so that nobody else has it in other
    capitals. `sessions_ended` counts how often all his sessions were ended: each session is held to
    it.
    """

    name = models.CharField(max_length=LONGEST_NAME, unique=True)
    name_key = models.CharField(max_length=200, unique=True, editable=False)
    role = models.PositiveSmallIntegerField(choices=Role.choices, default=Role.LOOK)
    is_active = models.BooleanField(default=True)
    us_units = models.BooleanField(default=False)
    created_at = models.DateTimeField(default=timezone.now)
    sessions_ended = models.PositiveIntegerField(default=0)

    objects = People()
    USERNAME_FIELD = "name"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    def __str__(self) -> str:
        return str(self.name)

    def save(self, *args: Any, **more: Any) -> None:
        """Save, with the key of a new name."""
        if not self.name_key:
            self.name_key = name_key(self.name)
        super().save(*args, **more)

    @property
    def by_spelling(self) -> bool:
        """Whether somebody else has the same name in other capitals, from before it was refused."""
        return "\n" in self.name_key

    def may(self, role: int) -> bool:
        """Whether the person's role reaches this one."""
        return bool(self.is_active and self.role >= role)

    def get_session_auth_hash(self) -> str:
        """What a session is held to: another password, or one more ending, ends it."""
        held_to = f"{self.password}/{self.sessions_ended}"
        return salted_hmac("tripmargin.session", held_to, algorithm="sha256").hexdigest()


class Invitation(models.Model):
    """A link that lets one person in, once. Only a hash of it is kept."""

    token_hash = models.CharField(max_length=64, unique=True)
    role = models.PositiveSmallIntegerField(choices=Role.choices)
    person = models.ForeignKey(
        Person, null=True, on_delete=models.CASCADE, related_name="invitations"
    )
    """Whom it gives a new password; None: somebody new."""
    made_by_name = models.CharField(max_length=60, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)


class SignInAttempt(models.Model):
    """A try to sign in, so that guessing is slowed down."""

    name = models.CharField(max_length=60)
    address = models.CharField(max_length=64)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        """Found by name and by address."""

        indexes: ClassVar = [
            models.Index(fields=["name", "at"]),
            models.Index(fields=["address", "at"]),
        ]


class LimitedAct(models.Model):
    """Something that one person, or one address, may do so many times in a while."""

    what = models.CharField(max_length=40)
    by = models.CharField(max_length=70)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        """Counted by what and by whom."""

        indexes: ClassVar = [models.Index(fields=["what", "by", "at"], name="limited_act")]


class AuditLine(AppendOnly):
    """Who changed what in people, machines and settings."""

    at = models.DateTimeField(default=timezone.now, db_index=True)
    who = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    who_name = models.CharField(max_length=60)
    what = models.CharField(max_length=60)
    about = models.CharField(max_length=200, blank=True)
    detail = models.JSONField(default=dict)
    address = models.CharField(max_length=64, blank=True)
