"""Which looks at a car's ballast stand, and the pieces an official expects to find on it."""

from collections.abc import Iterable

from django.db.models import QuerySet

from cars.models import BallastPiece
from events.models import BallastCheck, Entry


def standing_checks(checks: Iterable[BallastCheck]) -> list[BallastCheck] | None:
    """The checks (each with its void) that stand, oldest first; None where nobody has looked.

    A later look at the same piece takes the earlier one's place, and 'none on the car' that of
    all before it. Pieces that the team does not keep here cannot be told apart: each look counts.
    """
    looked, standing = False, dict[object, BallastCheck]()
    for check in sorted(checks, key=lambda c: (c.created_at, c.pk)):
        if hasattr(check, "void"):
            continue
        looked = True
        if check.none_on_car:
            standing.clear()
            continue
        key = check.piece_id or check.pk
        standing.pop(key, None)
        standing[key] = check
    return list(standing.values()) if looked else None


def pieces_on(entry: Entry) -> QuerySet[BallastPiece]:
    """The pieces that the team keeps on this car, each with its mount."""
    return BallastPiece.objects.filter(car_id=entry.car_id, retired_at__isnull=True).select_related(
        "mount"
    )
