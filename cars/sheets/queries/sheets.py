"""Lists around sheets: a car's sheets, those one may follow, and the whole trail of one."""

from collections.abc import Iterable
from typing import NamedTuple
from uuid import UUID

from django.db.models import CharField, Count, Exists, F, Func, OuterRef, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce, Concat

from cars.models import Car, Reading, Sheet
from clubsetup.access.models import TrailLine


def versions_of(sheet: Sheet, *, using: str = "default") -> list[UUID]:
    """A sheet and the versions that it corrects, newest first. One query for each of these."""
    versions = [sheet.pk]
    while sheet.corrects_id:
        sheet = Sheet.objects.using(using).only("corrects_id").get(pk=sheet.corrects_id)
        versions.append(sheet.pk)
    return versions


def set_sheet_of(found: Sheet) -> Sheet | None:
    """The newest version of the sheet as set that follows a found one, or a version before it."""
    rows = Sheet.objects.filter(based_on__in=versions_of(found), role=Sheet.Role.SET)
    return rows.order_by("version", "created_at").last()


def open_benches(cars: Iterable[Car]) -> QuerySet[Sheet]:
    """Every open sheet of these cars as found or as set, the one opened last first."""
    return (
        Sheet.objects.filter(
            car__in=cars, state=Sheet.State.OPEN, role__in=[Sheet.Role.FOUND, Sheet.Role.SET]
        )
        .select_related("track", "driver", "opened_by")
        .order_by("-created_at")
    )


def sheets_of(cars: Iterable[Car]) -> QuerySet[Sheet]:
    """The newest version of each sheet of these cars, newest day first, with how much is taken.

    `has_twin`: another of its kind is of the same day, so that the time must tell them apart.
    """
    return (
        Sheet.objects.current()
        .filter(car__in=cars)
        .select_related("track", "driver")
        .annotate(taken=Coalesce(Subquery(_taken()), 0), has_twin=Exists(_twins()))
        .order_by("-made_on", "-created_at")
    )


SHEETS_OFFERED = 30
_WORDS_LOOKED_FOR = 8
_WORDS_OF_A_SHEET = Concat(
    Value("as "),
    "role",
    Func(
        F("made_on"),
        Value(" FMDD Mon YYYY YYYY-MM-DD "),
        function="to_char",
        output_field=CharField(),
    ),
    Coalesce("track__name", Value("")),
    Value(" "),
    Coalesce("driver__display_name", Value("")),
)


class SheetsToFollow(NamedTuple):
    """Some earlier sheets of a car, and the chosen one where it is not among them."""

    found: list[Sheet]
    chosen: list[Sheet]


def sheets_to_follow(car: Car, find: str = "", chosen: UUID | None = None) -> SheetsToFollow:
    """The newest sheets of a car that a new one may follow, and the chosen one if it is older.

    `find` holds words of which each stands in a sheet's kind, day, track or driver. Two queries at
    most.
    """
    sheets = Sheet.objects.current().filter(car=car).select_related("track", "driver")
    rows = sheets.order_by("-made_on", "-created_at").annotate(said=_WORDS_OF_A_SHEET)
    for word in find.split()[:_WORDS_LOOKED_FOR]:
        rows = rows.filter(said__icontains=word)
    offered = list(rows[:SHEETS_OFFERED])
    if chosen is None or any(sheet.pk == chosen for sheet in offered):
        return SheetsToFollow(offered, [])
    return SheetsToFollow(offered, list(sheets.filter(pk=chosen)))


def newest_found_and_set(car: UUID, *, most: int, using: str = "default") -> list[Sheet]:
    """The newest sheets of a car as found and as set, the newest first; of each its head alone."""
    return list(
        Sheet.objects.using(using)
        .current()
        .filter(car=car, role__in=[Sheet.Role.FOUND, Sheet.Role.SET])
        .only(*_HEAD)
        .order_by("-made_on", "-created_at")[:most]
    )


_HEAD = (
    *("role", "state", "made_on", "team_id", "driver_id", "fuel", "baseline_id"),
    "corrects_id",
)


def _taken() -> QuerySet[Reading, int]:
    # Counted sheet by sheet, and so for those of one page alone: a join would be of all readings.
    read = Reading.objects.current().filter(sheet=OuterRef("pk"), carried_from__isnull=True)
    return read.order_by().values("sheet").values_list(Count("pk"))


def latest_sheets(
    cars: Iterable[Car], readings: QuerySet[Reading] | None = None
) -> dict[UUID, Sheet]:
    """The latest sheet of each car with one of these readings on it, or with any, in its newest
    version; no target."""
    rows = Reading.objects.current() if readings is None else readings
    # Car by car from its newest sheet down, which ends at the first that has one; asked of all
    # cars together, each of their sheets would be looked through.
    latest = (
        Sheet.objects.current()
        .filter(Exists(rows.filter(sheet=OuterRef("pk"))), car=OuterRef("pk"))
        .exclude(role=Sheet.Role.TARGET)
        .order_by("-made_on", "-created_at")
        .values("pk")[:1]
    )
    newest = Car.objects.filter(pk__in=[car.pk for car in cars]).annotate(latest=Subquery(latest))
    # In a query of its own: within one, the latest of a car is looked for at each of its sheets.
    ids = list(newest.order_by().values_list("latest", flat=True))
    sheets = Sheet.objects.filter(pk__in=ids).select_related("driver", "track")
    return {sheet.car_id: sheet for sheet in sheets}


def _twins() -> QuerySet[Sheet]:
    same = {name: OuterRef(name) for name in ("car", "role", "made_on")}
    return Sheet.objects.current().filter(**same).exclude(pk=OuterRef("pk"))


def readings_ever(sheet: Sheet) -> QuerySet[Reading]:
    """All readings ever taken on the sheet, with who took them."""
    return sheet.readings.select_related("measure", "by", "replaced_by", "sheet__opened_by")


def done_to(sheet: Sheet) -> QuerySet[TrailLine]:
    """What the trail keeps of the sheet beside its readings; shown to the team."""
    rows = TrailLine.objects.filter(on_id=sheet.pk).exclude(did="took")
    return rows.select_related("by")
