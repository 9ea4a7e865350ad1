from django.db import models
from django.db.models import Q

from clubsetup.access.models import Row, User


class PublishedVersion(Row):
    """One version of what somebody lays down: a draft, then published, then retired."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        PUBLISHED = "published", "Published"
        RETIRED = "retired", "Retired"

    version = models.PositiveIntegerField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        abstract = True


def published_at_with_by(name: str) -> models.CheckConstraint:
    """A draft says neither when nor by whom it was published; every other version says both."""
    return models.CheckConstraint(
        condition=Q(state="draft", published_at__isnull=True, published_by__isnull=True)
        | Q(
            state__in=["published", "retired"],
            published_at__isnull=False,
            published_by__isnull=False,
        ),
        name=f"{name}_published_at_with_by",
    )
