"""People who sign in, and the keys with which programs do."""

from __future__ import annotations

import hashlib
import secrets
from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils import timezone
from django.utils.crypto import salted_hmac


class Role(models.TextChoices):
    """What a person may do: the owner everything; crew all but money; away nothing any more."""

    OWNER = "owner"
    CREW = "crew"
    AWAY = "away"


class People(BaseUserManager["Person"]):
    """Makes people; e-mail addresses are kept in small letters."""

    def create_user(self, email: str, password: str | None = None, **more: Any) -> Person:
        """Return a saved person."""
        person = self.model(email=email.strip().lower(), **more)
        person.set_password(password)
        person.save()
        return person

    def get_by_natural_key(self, username: str | None) -> Person:
        """Return the person with this address, however it was written."""
        return self.get(email=(username or "").strip().lower())


class Person(AbstractBaseUser):
    """Somebody of the shop."""

    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=8, choices=Role, default=Role.CREW)
    language = models.CharField(max_length=2, default="en")
    is_active = models.BooleanField(default=True)
    joined = models.DateTimeField(default=timezone.now)
    stamp = models.PositiveIntegerField(default=0)  # part of every session: counting up ends them all

    objects: ClassVar[People] = People()
    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    def __str__(self) -> str:
        """Return the name as it stands in histories."""
        return self.name or self.email

    @property
    def is_owner(self) -> bool:
        """Whether the person sees money."""
        return self.role == Role.OWNER

    @property
    def works_here(self) -> bool:
        """Whether the person may see jobs."""
        return self.is_active and self.role in (Role.OWNER, Role.CREW)

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """Return what a session must know of its person: it ends with the password and with the stamp."""
        salt = "slabwright.office.models.people.Person"
        held = f"{self.password}|{self.stamp}"
        return salted_hmac(salt, held, secret=secret, algorithm="sha256").hexdigest()


def hashed(token: str) -> str:
    """Return what is kept of a token: who reads the database cannot use it."""
    return hashlib.sha256(token.encode()).hexdigest()


def fresh_token() -> str:
    """Return 192 random bits for a link or a key."""
    return secrets.token_urlsafe(24)


class LinkKind(models.TextChoices):
    """What a link lets its holder do: join the shop, or choose a new password."""

    JOIN = "join"
    RESET = "reset"


class Link(models.Model):
    """A link that the owner hands to somebody: used once, ends on its own; only its token's hash is kept."""

    kind = models.CharField(max_length=8, choices=LinkKind)
    digest = models.CharField(max_length=64, unique=True)
    role = models.CharField(max_length=8, choices=Role, default=Role.CREW)  # of who joins
    name = models.CharField(max_length=120, blank=True)  # for whom, as the owner calls them
    person = models.ForeignKey(Person, null=True, on_delete=models.CASCADE, related_name="links")  # to reset
    by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="+")
    made = models.DateTimeField(default=timezone.now)
    ends = models.DateTimeField()
    used = models.DateTimeField(null=True)

    def __str__(self) -> str:
        """Return kind and for whom."""
        return f"{self.kind} {self.name}"


class Misses(models.Model):
    """How often somebody came with a wrong link from one address since a time, to slow guessing down."""

    origin = models.CharField(max_length=60, unique=True)
    count = models.PositiveIntegerField(default=0)
    since = models.DateTimeField(default=timezone.now, db_index=True)

    def __str__(self) -> str:
        """Return the address."""
        return self.origin


class Token(models.Model):
    """A program's key to the API; only its hash is kept."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(max_length=80)
    digest = models.CharField(max_length=64, unique=True)
    writes = models.BooleanField(default=False)
    made = models.DateTimeField(default=timezone.now)
    used = models.DateTimeField(null=True)
    ends = models.DateTimeField()
    minute = models.DateTimeField(null=True)  # that its requests are counted in
    asked = models.PositiveIntegerField(default=0)  # requests of that minute, of all workers together

    def __str__(self) -> str:
        """Return the name that its owner gave it."""
        return self.name
