from django.db import models
from django.db.models import Q

from clubsetup.access.digests import digest
from clubsetup.access.models.base import Row
from clubsetup.access.row_security import RowSecurity, viewer_is


class ResetCode(Row):
    """A code, used once, by which a person sets a new password. Only its hash is kept.

    Made and used through functions of the schema `access` alone, which hold who may make one.
    """

    user = models.ForeignKey("access.User", on_delete=models.CASCADE, related_name="+")
    # None: made on the command line, by whoever keeps the service.
    made_by = models.ForeignKey(
        "access.User", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    digest = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(made_by__isnull=True) | ~Q(made_by=models.F("user")),
                name="reset_code_not_for_oneself",
            ),
            RowSecurity(name="made_reset_codes", read=viewer_is("made_by_id")),
        ]

    def __str__(self) -> str:
        return "reset code"

    @staticmethod
    def digest_of(code: str) -> str:
        """What is kept of a code: the SHA-256 of it as typed, without spaces and dashes."""
        plain = "".join(letter for letter in code.upper() if letter.isalnum())
        return digest(plain)
