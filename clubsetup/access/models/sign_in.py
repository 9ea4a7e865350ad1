from django.db import models
from django.db.models import Q

from clubsetup.access.digests import digest
from clubsetup.access.models.base import Row
from clubsetup.access.row_security import RowSecurity, viewer_is


class SignIn(Row):
    """A browser in which a person is signed in, so that they can end it from another one."""

    user = models.ForeignKey("access.User", on_delete=models.CASCADE, related_name="sign_ins")
    digest = models.CharField(max_length=64, unique=True)  # of the session's key
    device = models.CharField(max_length=60, help_text="As its browser names it, roughly.")
    # Handed over (handed_over.py): it gets one page until the code; of the code a keyed hash.
    handed_over_at = models.DateTimeField(null=True, blank=True)
    handed_over_for = models.UUIDField(null=True, blank=True, help_text="What that page is about.")
    handed_over_code = models.CharField(max_length=64, blank=True, default="", db_default="")
    wrong_codes = models.PositiveSmallIntegerField(default=0, db_default=0)

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    handed_over_at__isnull=True,
                    handed_over_for__isnull=True,
                    handed_over_code="",
                    wrong_codes=0,
                )
                | Q(handed_over_at__isnull=False, handed_over_for__isnull=False)
                & ~Q(handed_over_code=""),
                name="sign_in_handed_over_whole",
            ),
            RowSecurity(
                name="own_sign_ins",
                read=viewer_is("user_id"),
                add=viewer_is("user_id"),
                change=viewer_is("user_id"),
                change_columns=[
                    "handed_over_at",
                    "handed_over_for",
                    "handed_over_code",
                    "wrong_codes",
                ],
                remove=viewer_is("user_id"),
            ),
        ]

    def __str__(self) -> str:
        return self.device

    @staticmethod
    def digest_of(session_key: str) -> str:
        """What is kept of a session's key, which itself would open the session."""
        return digest(session_key)
