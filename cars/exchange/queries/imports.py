"""Imports of a team, and what rests on what they brought in."""

from collections.abc import Iterator

from django.db.models import Q, QuerySet

from cars.exchange.queries.import_places import plain
from cars.models import (
    Advice,
    Car,
    Change,
    Comment,
    Import,
    ImportColumns,
    ImportedArchive,
    Outing,
    Plan,
    Run,
    RunPart,
    RunReading,
    Sheet,
    SheetTargetSource,
    TrackChange,
    TrackReading,
)
from cars.runs.queries.run_entries import run_entries
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from teams.models import Team
from teams.queries.clocks import zone_of

MOST_NAMED = 5


def imports_of(team: Team) -> QuerySet[Import]:
    """The newest first, without their cells."""
    rows = Import.objects.filter(team=team).select_related("by", "withdrawn_by")
    return rows.defer("cells", "flaws", "columns").order_by("-id")


def archive_of(row: Import) -> ImportedArchive | None:
    """What came in with it, where it is an archive."""
    if row.kind != Import.Kind.ARCHIVE:
        return None
    return ImportedArchive.objects.filter(team=row.team_id, digest=row.digest).first()


def remembered(row: Import) -> dict[str, str]:
    """What the team chose for columns of these headers, last time."""
    found = ImportColumns.objects.filter(team=row.team_id, kind=row.kind).first()
    return dict(found.places) if found else {}


def remembering(before: dict[str, str], header: list[str], columns: list[str]) -> dict[str, str]:
    """The choices of before with those of this file laid over them."""
    return before | {
        plain(title): name for title, name in zip(header, columns, strict=False) if plain(title)
    }


def same_brought_in(row: Import) -> Import | None:
    """An import of the same table that stands."""
    rows = Import.objects.filter(team=row.team_id, kind=row.kind, digest=row.digest)
    return rows.filter(state=Import.State.DONE, withdrawn_at__isnull=True).first()


def resting_on(row: Import, viewer: User) -> list[str]:
    """What rests on the runs and sheets of an import, by name; as long as there is any of it, the
    import cannot be withdrawn."""
    named = [*_handed_over(row), *_on_sheets(row, viewer), *_on_runs(row, viewer)]
    return list(dict.fromkeys(named))


def _handed_over(row: Import) -> Iterator[str]:
    """Cars that are another team's by now; the team may not see them any more."""
    brought = set(Sheet.objects.filter(from_import=row).values_list("car_id", flat=True))
    brought |= set(Run.objects.filter(from_import=row).values_list("car_id", flat=True))
    own = set(Car.objects.filter(pk__in=brought, team=row.team_id).values_list("pk", flat=True))
    gone = brought - own
    names = {car.pk: f"car {car}" for car in Car.objects.filter(pk__in=gone)}
    for pk in sorted(gone):
        yield f"{names.get(pk, 'a car of it')} was handed over since"


def _on_sheets(row: Import, viewer: User) -> Iterator[str]:
    sheets = Sheet.objects.filter(from_import=row)
    if not sheets.exists():
        return
    zone = zone_of(viewer)
    for run in Run.objects.filter(sheet__in=sheets).select_related("car")[:MOST_NAMED]:
        yield f"the run of car {run.car} on {_date(run, zone)} rests on a sheet of it"
    later = Sheet.objects.exclude(from_import=row, from_import__isnull=False)
    follows = Q(based_on__in=sheets) | Q(corrects__in=sheets)
    for sheet in later.filter(follows).select_related("car")[:MOST_NAMED]:
        yield f"{_sheet(sheet)} rests on a sheet of it"
    judged = SheetTargetSource.objects.filter(target__in=sheets).select_related("sheet__car")
    for source in judged[:MOST_NAMED]:
        yield f"{_sheet(source.sheet)} is judged by a sheet of it"
    sent = Outing.objects.filter(sheet__in=sheets).select_related("school_day", "car")
    for outing in sent[:MOST_NAMED]:
        yield f"car {outing.car} goes out to a sheet of it, {outing.school_day}"
    for model, what in _OF_SHEETS:
        for each in model.objects.filter(sheet__in=sheets).select_related("sheet__car")[:1]:
            yield f"{what} on {_sheet(each.sheet)}"
    yield from _advice(row)


_OF_SHEETS = (
    (Plan, "a plan stands"),
    (Change, "a change is noted"),
    (Comment, "a comment stands"),
    (TrackChange, "a change at the track is noted"),
    (TrackReading, "a figure was read at the track"),
)


def _advice(row: Import) -> Iterator[str]:
    """Advice that a coach left on a car since, while its newest sheet was one of the import."""
    cars = Sheet.objects.filter(from_import=row).values("car")
    rows = Advice.objects.filter(car__in=cars, team=row.team_id, done_at__isnull=True)
    for advice in rows.filter(created_at__gt=row.confirmed_at).select_related("car", "by"):
        newest = Sheet.objects.filter(car=advice.car_id, created_at__lt=advice.created_at).exclude(
            role=Sheet.Role.TARGET
        )
        last = newest.order_by("-made_on", "-created_at").first()
        if last is not None and last.from_import_id == row.pk:
            yield f"{advice.by} left advice on car {advice.car} that rests on a sheet of it"


def _on_runs(row: Import, viewer: User) -> Iterator[str]:
    runs = Run.objects.filter(from_import=row)
    ids = list(runs.values_list("pk", flat=True))
    if not ids:
        return
    zone = zone_of(viewer)
    for entry in list(run_entries(ids).values())[:MOST_NAMED]:
        yield f"a run of it belongs to the entry {entry.text}"
    for model, what in ((RunReading, "a reading was taken"), (RunPart, "a part is noted")):
        for each in model.objects.filter(run__in=runs).select_related("run__car")[:1]:
            yield f"{what} in the run of car {each.run.car} on {_date(each.run, zone)}"


def _date(run: Run, zone: object) -> str:
    return day(run.ran_at.astimezone(zone).date())  # type: ignore[arg-type]  # a zone


def _sheet(sheet: Sheet) -> str:
    said = str(sheet)
    return f"car {sheet.car} {said[0].lower()}{said[1:]}"
