from django.db import models

from clubsetup.access.digests import digest
from clubsetup.access.models.base import Row
from clubsetup.access.row_security import RowSecurity, viewer_is


class SignIn(Row):
    """A browser in which a person is signed in, so that they can end it from another one."""

    user = models.ForeignKey("access.User", on_delete=models.CASCADE, related_name="sign_ins")
    digest = models.CharField(max_length=64, unique=True)  # of the session's key
    device = models.CharField(max_length=60, help_text="As its browser names it, roughly.")

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            RowSecurity(
                name="own_sign_ins",
                read=viewer_is("user_id"),
                add=viewer_is("user_id"),
                remove=viewer_is("user_id"),
            )
        ]

    def __str__(self) -> str:
        return self.device

    @staticmethod
    def digest_of(session_key: str) -> str:
        """What is kept of a session's key, which itself would open the session."""
        return digest(session_key)
