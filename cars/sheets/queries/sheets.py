"""Lists around sheets: a car's sheets, what was remarked on one, and its whole trail."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from cars.figures.formatting import format_change
from cars.models import Car, Comment, Reading, Sheet
from clubsetup.access.models import TrailLine
from clubsetup.quantities.units import Units


def set_sheet_of(found: Sheet) -> Sheet | None:
    """The newest version of the sheet as set that follows a found one, or a version before it."""
    versions = [found.pk]
    while found.corrects_id:
        found = Sheet.objects.only("corrects_id").get(pk=found.corrects_id)
        versions.append(found.pk)
    rows = Sheet.objects.filter(based_on__in=versions, role=Sheet.Role.SET)
    return rows.order_by("version", "created_at").last()


def open_benches(cars: Iterable[Car]) -> QuerySet[Sheet]:
    """Every open sheet of these cars as found or as set, the one opened last first."""
    return (
        Sheet.objects.filter(
            car__in=cars, state=Sheet.State.OPEN, role__in=[Sheet.Role.FOUND, Sheet.Role.SET]
        )
        .select_related("track", "opened_by")
        .order_by("-created_at")
    )


def sheets_of(cars: Iterable[Car]) -> QuerySet[Sheet]:
    """The newest version of each sheet of these cars, newest day first, with how much is taken.

    `has_twin`: another of its kind is of the same day, so that the time must tell them apart.
    """
    read = Q(readings__replaced_at__isnull=True, readings__carried_from__isnull=True)
    standing = Count("readings", filter=read)
    return (
        Sheet.objects.filter(car__in=cars, corrected_by__isnull=True)
        .select_related("track", "driver")
        .annotate(taken=standing, has_twin=Exists(_twins()))
        .order_by("-made_on", "-created_at")
    )


def _twins() -> QuerySet[Sheet]:
    same = {name: OuterRef(name) for name in ("car", "role", "made_on")}
    return Sheet.objects.filter(corrected_by__isnull=True, **same).exclude(pk=OuterRef("pk"))


@dataclass(frozen=True)
class ChangeLine:
    """A change as people say it: spring seat LF +1/2 turn."""

    said: str
    by: str
    at: datetime


@dataclass(frozen=True)
class Comments:
    """What was written beside a sheet's readings."""

    comments: list[Comment]
    changes: list[ChangeLine]


def comments_of(sheet: Sheet, units: Units) -> Comments:
    """Comments and changes, oldest first, in the reader's units."""
    changes = [
        ChangeLine(format_change(row, units), str(row.by), row.created_at)
        for row in sheet.changes.select_related("by", "piece")
    ]
    return Comments(list(sheet.comments.select_related("by")), changes)


@dataclass(frozen=True)
class SheetEvent:
    """One thing that happened to a sheet."""

    at: datetime
    by: str
    what: str
    old: bool = False  # a reading that another has replaced
    read_by: str = ""  # who had read a figure that was carried over
    read_at: datetime | None = None


DONE = {
    "opened": "opened the sheet",
    "headed": "changed date, driver or fuel",
    "closed": "closed the sheet",
    "corrected": "made this version",
    "commented": "wrote a comment",
    "changed": "noted a change",
    "accepted": "accepted a turn plan",
    "turned rods": "turned the radius rods as worked out",
    "set marks": "set the block marks",
    "fitted": "said which part is on a corner",
    "unfitted": "said that no part of the team's is on a corner",
}


def sheet_trail(sheet: Sheet) -> list[SheetEvent]:
    """Everything that happened, oldest first: all readings ever taken, and what else was done.

    Readings are seen by whoever sees the sheet; the trail's own lines by the team.
    """
    lines = [line for row in _readings(sheet) for line in _reading_lines(row)]
    for row in TrailLine.objects.filter(on_id=sheet.pk).exclude(did="took").select_related("by"):
        reason = row.detail.get("reason")
        what = DONE.get(row.did, row.did) + (f": {reason}" if reason else "")
        lines.append(SheetEvent(row.created_at, str(row.by), what))
    return sorted(lines, key=lambda line: line.at)


def _readings(sheet: Sheet) -> QuerySet[Reading]:
    return sheet.readings.select_related("measure", "by", "replaced_by", "sheet__opened_by")


def _reading_lines(row: Reading) -> list[SheetEvent]:
    spot = "" if row.spot == "car" else f" {row.spot}"
    take = f" (take {row.take})" if row.take > 1 else ""
    figure = f"{row.measure.name}{spot}{take}: {row.typed}"
    old = row.replaced_at is not None
    lines = [SheetEvent(row.created_at, str(row.by), figure, old=old)]
    if row.carried_from_id:
        said = f"carried over, not read: {figure}"
        carried = (row.created_at, str(row.sheet.opened_by), said)
        lines = [SheetEvent(*carried, old=old, read_by=str(row.by), read_at=row.taken_at)]
    if row.replaced_at is not None:
        lines.append(SheetEvent(row.replaced_at, str(row.replaced_by), f"took back {figure}"))
    return lines
