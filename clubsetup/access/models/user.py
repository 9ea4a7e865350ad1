from typing import Any, ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models

from clubsetup.access.ids import new_id
from clubsetup.access.viewer import signing_in
from clubsetup.quantities.units import Units


class UserManager(BaseUserManager["User"]):
    """Makes people who sign in by e-mail."""

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "User":
        """A person with a normalised address; without a password they cannot sign in by one."""
        user = self.model(email=self.normalize_email(email).lower(), **fields)
        user.set_password(password)
        with signing_in(address=user.email):
            user.save(using=self._db)
        return user


class ColourScheme(models.TextChoices):
    """Whether pages are light or dark."""

    DEVICE = "", "As the device"
    LIGHT = "light", "Light"
    DARK = "dark", "Dark"


class User(AbstractBaseUser):
    """A person who signs in. Adults only: drivers never have an account."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    email = models.EmailField(unique=True)
    name = models.CharField(
        max_length=80, blank=True, help_text="Shown to the people you work with."
    )
    is_active = models.BooleanField(default=True)
    date_joined = models.DateTimeField(auto_now_add=True)
    # Empty means: as the club has it.
    preferred_units = models.JSONField(default=dict, blank=True)
    colour_scheme = models.CharField(
        max_length=5, choices=ColourScheme.choices, default="", db_default="", blank=True
    )

    objects = UserManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    def __str__(self) -> str:
        # Of others nobody is shown more than the name.
        return self.name or self.email or "Somebody"

    def units(self, over: Units | None = None) -> Units:
        """The units this person types without saying so, over the club's."""
        return (over or Units.imperial()).merged(self.preferred_units)
