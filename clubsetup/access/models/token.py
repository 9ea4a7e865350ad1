from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.utils import timezone

from clubsetup.access.digests import digest
from clubsetup.access.models.base import Row
from clubsetup.access.row_security import RowSecurity, viewer_is


class ApiToken(Row):
    """A personal token for the API. Only its hash is kept."""

    class Scope(models.TextChoices):
        READ = "read", "Read what I can read"
        WRITE = "write", "Write what I can write"
        PRINT = "print", "Ask for prints and fetch them"

    user = models.ForeignKey("access.User", on_delete=models.CASCADE, related_name="tokens")
    name = models.CharField(max_length=60)
    digest = models.CharField(max_length=64, unique=True)
    scopes = ArrayField(models.CharField(max_length=10, choices=Scope.choices))
    expires_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            RowSecurity(
                name="own_tokens",
                read=viewer_is("user_id"),
                add=viewer_is("user_id"),
                change=viewer_is("user_id"),
                change_columns=["ended_at"],
            )
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_over(self) -> bool:
        """Whether it opens nothing any more."""
        return self.ended_at is not None or self.expires_at <= timezone.now()

    @staticmethod
    def digest_of(secret: str) -> str:
        """What is kept of a token: the SHA-256 of its text, which has 256 random bits."""
        return digest(secret)
