from typing import Any

from django.db import models
from django.db.models import F, Func, Q, Value
from django.db.models.lookups import LessThanOrEqual

from clubsetup.access.models import RowQuerySet
from clubsetup.access.row_security import SameParent
from events.models.official import OfficialRecord, official_record
from events.models.tech import BallastCheck
from events.rules.photo import LONGEST, MOST_KEPT, MOST_SMALL

MOST_PHOTOS = 3


def _sha256_of(column: str) -> Func:
    digest = Func(F(column), function="sha256", output_field=models.BinaryField())
    return Func(digest, Value("hex"), function="encode", output_field=models.CharField())


def _at_most(column: str, most: int) -> Any:
    size = Func(F(column), function="octet_length", output_field=models.IntegerField())
    return LessThanOrEqual(size, most)


class PhotoQuerySet(RowQuerySet["BallastPhoto"]):
    """Photos; what only lists them leaves the pictures where they are."""

    def listed(self) -> "PhotoQuerySet":
        """Without the bytes."""
        return self.defer("picture", "small")

    def with_small(self) -> "PhotoQuerySet":
        """With the small picture alone."""
        return self.defer("picture")


class BallastPhoto(OfficialRecord):
    """What an official saw at one look at a piece of ballast; out of force with that look."""

    ballast_check = models.ForeignKey(BallastCheck, on_delete=models.PROTECT, related_name="photos")
    number = models.PositiveSmallIntegerField(help_text="Of the photos of this look, from 1.")
    # JPEG with nothing beside the picture, as events/rules/photo.py writes it.
    picture = models.BinaryField()
    small = models.BinaryField()
    width = models.PositiveSmallIntegerField()
    height = models.PositiveSmallIntegerField()
    sha256 = models.CharField(max_length=64, help_text="Of the picture, in hexadecimal.")

    objects = PhotoQuerySet.as_manager()

    class Meta(OfficialRecord.Meta):
        ordering = ["ballast_check", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["ballast_check", "number"], name="ballast_photo_number_once"
            ),
            models.CheckConstraint(
                condition=Q(number__gte=1, number__lte=MOST_PHOTOS), name="ballast_photo_few"
            ),
            models.CheckConstraint(
                condition=Q(sha256=_sha256_of("picture")), name="ballast_photo_hash_true"
            ),
            models.CheckConstraint(
                condition=Q(_at_most("picture", MOST_KEPT)) & Q(_at_most("small", MOST_SMALL)),
                name="ballast_photo_small_enough",
            ),
            models.CheckConstraint(
                condition=Q(width__gte=1, width__lte=LONGEST, height__gte=1, height__lte=LONGEST),
                name="ballast_photo_sides",
            ),
            SameParent(
                name="ballast_photo_check",
                parent="ballast_check_id",
                shared="entry_id",
                to="events_ballastcheck",
            ),
            *official_record("ballast_photo"),
        ]

    def __str__(self) -> str:
        return f"Photo {self.number} of {self.ballast_check}"
