"""A car over its seasons: figures as found and as set, what was aimed at, what happened between."""

from collections import Counter, defaultdict
from collections.abc import Collection, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import Count, F, Max, Min, Q
from django.db.models.fields.json import KeyTextTransform
from django.db.models.functions import Coalesce, ExtractYear
from django.db.models.lookups import IsNull
from django.utils import timezone

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, cached_catalogue
from cars.catalogue.staleness import follows, touched_by
from cars.figures.derived import Figure
from cars.history.queries.car_events import CarEvent, car_events
from cars.history.queries.laps_by_track import season_bounds
from cars.models import (
    BaselineValue,
    Car,
    Change,
    ClosedFigures,
    OwnTarget,
    PartFitted,
    Run,
    RunDetails,
    Sheet,
    SheetTargetSource,
    TrackChange,
)
from cars.models.sheet import SheetQuerySet
from cars.sheets.queries.closed_figures import figures_by_sheet
from cars.sheets.queries.parts_fitted import code_of
from clubsetup.access.errors import Invalid

MOST_MEASURES = 2
# So many adjusters a season's page names.
MOST_CHANGED = 6
# What a car is followed by where nothing else is asked.
USUAL = (Key("cross", "car"), Key("ride-height", "RF"))


DAY_SHEET = ("pk", "role", "made_on", "track_name", "surface", "baseline_id", "is_kept")


class DaySheet(NamedTuple):
    """A closed sheet, and what it says of the measures asked for, canonical, in their order."""

    pk: UUID
    role: str
    made_on: date
    track: str
    surface: str
    baseline: UUID | None
    is_kept: bool  # how it was set is kept too, where something was changed since
    values: tuple[float | None, ...]

    @property
    def is_set(self) -> bool:
        return self.role == Sheet.Role.SET


class Aim(NamedTuple):
    """What was aimed at by a sheet: a target and its tolerance, canonical."""

    target: float
    tolerance: float


@dataclass(frozen=True, slots=True)
class Happened:
    """Something that happened to the car; `changed` holds what was turned at the track."""

    day: date
    kind: str  # 'part', 'baseline', 'damage', 'change' or 'event'
    what: str = ""
    spot: str = ""
    was: str = ""
    sheet: UUID | None = None
    run: UUID | None = None
    event: CarEvent | None = None
    changed: tuple[TrackChange, ...] = ()


@dataclass(frozen=True, slots=True)
class CarHistory:
    """All that is drawn of some measures; `aims` by measure and sheet, `happened` in order."""

    keys: list[Key]
    sheets: list[DaySheet]
    aims: Mapping[Key, Mapping[UUID, Aim]]
    happened: list[Happened]
    changes: Mapping[UUID, list[Change]]


def seasons_of(car: Car) -> list[int]:
    """The years of its closed sheets, and from its first run to its last, the newest first. Two
    queries."""
    years = _closed(car).order_by().annotate(year=ExtractYear("made_on"))
    runs = Run.objects.current().filter(car=car, team=car.team_id).order_by()
    ran = runs.aggregate(first=Min("ran_at"), last=Max("ran_at"))
    first, last = (timezone.localtime(at).year if at else 0 for at in (ran["first"], ran["last"]))
    run_years = range(first, last + 1) if first else ()
    return sorted({*years.values_list("year", flat=True).distinct(), *run_years}, reverse=True)


def keys_asked(texts: Sequence[str]) -> list[Key]:
    """The boxes that an address names: one or two. Raises Invalid."""
    known = cached_catalogue()
    try:
        keys = [Key.of(text) for text in texts if text] or list(USUAL)
    except ValueError as error:
        raise Invalid("measure", "Choose a measure of the list.") from error
    if len(keys) > MOST_MEASURES or len(set(keys)) < len(keys):
        raise Invalid("measure", "Choose one measure, or two different ones.")
    for key in keys:
        measure = known.measures.get(key.measure)
        if measure is None or not measure.kind or key.spot not in measure.spots:
            raise Invalid("measure", f"There is no measure '{key}'.")
    return keys


def season_asked(text: str, seasons: Container[int]) -> int | None:
    """The year that an address names; None for all of them. Raises Invalid."""
    if not text or text == "all":
        return None
    if not text.isascii() or not text.isdigit() or int(text[:5]) not in seasons:
        raise Invalid("season", "Choose one of its seasons, or all.")
    return int(text)


def years_asked_of(this_year: int) -> range:
    """The years that a driver's seasons may be asked of."""
    return range(this_year - 30, this_year + 1)


def car_history(car: Car, keys: Sequence[Key], season: int | None = None) -> CarHistory:
    """The closed sheets of one season or of all, oldest first, with what lies around them. As many
    queries for ten seasons as for one."""
    known = cached_catalogue()
    sheets = _with_set_figures(car, _sheets(car, keys, season), keys, known)
    on = _of_sheets_of(car, season)
    return CarHistory(
        list(keys),
        sheets,
        _aims(car, keys, sheets, on),
        sorted(
            [
                *_parts(on, sheets),
                *_baselines(sheets),
                *_damage(car, season),
                *_track_changes(car, keys, season, known),
                *_events(car, season, sheets),
            ],
            key=lambda one: one.day,
        ),
        _changes(on, keys, known),
    )


def _of_sheets_of(car: Car, season: int | None) -> dict[str, Any]:
    """What hangs on the car's sheets of that time. By the car: so many ids would take longer to
    write down than to find."""
    on: dict[str, Any] = {"sheet__car": car, "sheet__team": car.team_id}
    if season is not None:
        on["sheet__made_on__gte"] = date(season, 1, 1)
        on["sheet__made_on__lt"] = date(season + 1, 1, 1)
    return on


def _closed(car: Car, season: int | None = None) -> SheetQuerySet:
    rows = Sheet.objects.current().filter(
        car=car,
        team=car.team_id,
        state=Sheet.State.CLOSED,
        role__in=[Sheet.Role.FOUND, Sheet.Role.SET],
    )
    if season is not None:
        rows = rows.filter(made_on__gte=date(season, 1, 1), made_on__lt=date(season + 1, 1, 1))
    return rows


def _sheets(car: Car, keys: Sequence[Key], season: int | None) -> list[DaySheet]:
    """Of what is kept of each sheet these boxes alone: it keeps some eighty."""
    named = {
        f"box_{place}": Coalesce(
            KeyTextTransform(str(key), "closed_figures__values"),
            KeyTextTransform(str(key), "closed_figures__as_set"),
        )
        for place, key in enumerate(keys)
    }
    rows = (
        _closed(car, season)
        .annotate(
            track_name=F("track__name"),
            is_kept=IsNull(F("closed_figures__as_set"), False),
            **named,
        )
        .order_by("made_on", "created_at")
        .values_list(*DAY_SHEET, *named)
    )
    return [
        DaySheet(
            pk=row[0],
            role=row[1],
            made_on=row[2],
            track=row[3] or "",
            surface=row[4],
            baseline=row[5],
            is_kept=row[6],
            values=tuple(None if value is None else float(value) for value in row[7:]),
        )
        for row in rows
    ]


def _with_set_figures(
    car: Car, sheets: Sequence[DaySheet], keys: Sequence[Key], known: Catalogue
) -> list[DaySheet]:
    """Of sheets that were kept before it was kept how they were set, that is read off their
    readings. Two queries, or none."""
    missing = [
        Sheet(pk=sheet.pk, role=sheet.role, team_id=car.team_id)
        for sheet in sheets
        if sheet.is_set and not sheet.is_kept and None in sheet.values
    ]
    measures = {
        measure.pk
        for measure in known.measures.values()
        for spot in measure.spots
        for key in keys
        if measure.pk == key.measure or follows(key.measure, key.spot, Key(measure.pk, spot))
    }
    figures = figures_by_sheet(missing, known, measures=measures, with_track_changes=False)
    return [
        sheet._replace(values=_filled(sheet, keys, figures[sheet.pk]))
        if sheet.pk in figures
        else sheet
        for sheet in sheets
    ]


def _filled(
    sheet: DaySheet, keys: Sequence[Key], figures: Mapping[Key, Figure]
) -> tuple[float | None, ...]:
    return tuple(
        float(figures[key].value) if value is None and key in figures else value
        for key, value in zip(keys, sheet.values, strict=True)
    )


def _aims(
    car: Car, keys: Sequence[Key], sheets: Sequence[DaySheet], on: dict[str, Any]
) -> dict[Key, dict[UUID, Aim]]:
    """From the baseline that a sheet went by, the sheet it went by, or the team's own target of
    that day. Four queries."""
    sources = dict(SheetTargetSource.objects.filter(**on).values_list("sheet_id", "target_id"))
    baselines = _of_baselines({sheet.baseline for sheet in sheets if sheet.baseline}, keys)
    others = _of_sheets({target for target in sources.values() if target}, keys)
    own = _own(car, keys)
    aims: dict[Key, dict[UUID, Aim]] = {key: {} for key in keys}
    for sheet in sheets:
        for key in keys:
            base = baselines.get((sheet.baseline, key)) if sheet.baseline else None
            aim = base
            if sheet.pk in sources:
                target = sources[sheet.pk]
                if target is None:
                    aim = _own_then(own.get(key, ()), sheet) or base
                elif (value := others.get((target, key))) is not None:
                    aim = Aim(value, base.tolerance) if base else None
            if aim is not None:
                aims[key][sheet.pk] = aim
    return aims


def _of_boxes(keys: Iterable[Key]) -> Q:
    boxes = Q()
    for key in keys:
        boxes |= Q(measure=key.measure, spot=key.spot)
    return boxes


def _of_baselines(
    baselines: Collection[UUID], keys: Sequence[Key]
) -> dict[tuple[UUID | None, Key], Aim]:
    rows = BaselineValue.objects.filter(_of_boxes(keys), baseline__in=baselines)
    return {
        (row.baseline_id, Key(row.measure_id, row.spot)): Aim(
            float(row.target), float(row.tolerance)
        )
        for row in rows
    }


def _of_sheets(sheets: Collection[UUID], keys: Sequence[Key]) -> dict[tuple[UUID, Key], float]:
    named = {f"box_{n}": KeyTextTransform(str(key), "values") for n, key in enumerate(keys)}
    rows = ClosedFigures.objects.filter(sheet__in=sheets).annotate(**named)
    return {
        (row[0], key): float(value)
        for row in rows.values_list("sheet_id", *named)
        for key, value in zip(keys, row[1:], strict=True)
        if value is not None
    }


def _own(car: Car, keys: Sequence[Key]) -> dict[Key, list[OwnTarget]]:
    own: dict[Key, list[OwnTarget]] = defaultdict(list)
    for row in OwnTarget.objects.filter(_of_boxes(keys), car=car, team=car.team_id):
        own[Key(row.measure_id, row.spot)].append(row)
    return own


def _own_then(rows: Iterable[OwnTarget], sheet: DaySheet) -> Aim | None:
    """The one that stood on that day, for this surface first."""
    standing = [
        row
        for row in rows
        if row.surface in ("", sheet.surface)
        and timezone.localdate(row.created_at) <= sheet.made_on
        and (row.replaced_at is None or timezone.localdate(row.replaced_at) > sheet.made_on)
    ]
    row = max(standing, key=lambda one: (one.surface != "", one.created_at), default=None)
    return Aim(float(row.target), float(row.tolerance)) if row else None


def _parts(on: dict[str, Any], sheets: Sequence[DaySheet]) -> list[Happened]:
    """Where another part stands on a corner than on the sheet before, as far as one may see."""
    fitted: dict[UUID, list[PartFitted]] = defaultdict(list)
    rows = PartFitted.objects.current().filter(**on).select_related("part__code")
    for row in rows:
        fitted[row.sheet_id].append(row)
    last: dict[tuple[str, str], PartFitted] = {}
    swaps = []
    for sheet in sheets:
        for row in fitted[sheet.pk]:
            was = last.get((row.sort, row.spot))
            if was is not None and was.part_id != row.part_id:
                swaps.append(
                    Happened(
                        sheet.made_on,
                        "part",
                        what=f"{row.sort} {code_of(row.part) or ''}".strip(),
                        spot=row.spot,
                        was=code_of(was.part) or "",
                        sheet=sheet.pk,
                    )
                )
            last[row.sort, row.spot] = row
    return swaps


def _baselines(sheets: Sequence[DaySheet]) -> list[Happened]:
    """Where the car goes by another baseline on the same surface than before."""
    last: dict[str, UUID | None] = {}
    happened = []
    for sheet in sheets:
        if sheet.surface in last and last[sheet.surface] != sheet.baseline:
            happened.append(Happened(sheet.made_on, "baseline", what=sheet.surface, sheet=sheet.pk))
        last[sheet.surface] = sheet.baseline
    return happened


def _damage(car: Car, season: int | None) -> list[Happened]:
    rows = RunDetails.objects.current().filter(run__car=car, team=car.team_id, run__struck_at=None)
    rows = rows.exclude(damage="")
    if season is not None:
        begins, ends = season_bounds(season)
        rows = rows.filter(run__ran_at__gte=begins, run__ran_at__lt=ends)
    named = rows.values_list("run__ran_at", "damage", "damage_spots", "run_id")
    return [
        Happened(timezone.localdate(at), "damage", what=damage, spot=", ".join(spots), run=run)
        for at, damage, spots, run in named
    ]


def _track_changes(
    car: Car, keys: Sequence[Key], season: int | None, known: Catalogue
) -> list[Happened]:
    """What was turned at the track that these measures read: of a sheet and a day one."""
    rows = TrackChange.objects.current().filter(sheet__car=car, team=car.team_id)
    if season is not None:
        begins, ends = season_bounds(season)
        rows = rows.filter(made_at__gte=begins, made_at__lt=ends)
    steps = {key: known.measures[key.measure].step_id for key in keys}
    changed: dict[tuple[date, UUID], list[TrackChange]] = defaultdict(list)
    for row in rows:
        touched = touched_by(row, known)
        if any(touched.holds(key.measure, step, key.spot) for key, step in steps.items()):
            changed[timezone.localdate(row.made_at), row.sheet_id].append(row)
    return [
        Happened(day, "change", sheet=sheet, changed=tuple(same))
        for (day, sheet), same in changed.items()
    ]


def changed_most(car: Car, season: int) -> list[tuple[str, str, int]]:
    """What was turned or moved on a season's sheets and at the track: adjuster, spot and how many
    times, the most often first. Two queries."""
    times: Counter[tuple[str, str]] = Counter()
    begins, ends = season_bounds(season)
    at_track = TrackChange.objects.current().filter(
        sheet__car=car, team=car.team_id, made_at__gte=begins, made_at__lt=ends, puts_back=None
    )
    on_sheets = Change.objects.current().filter(**_of_sheets_of(car, season))
    for rows in (on_sheets, at_track):
        counted = rows.order_by().values_list("adjuster", "spot").annotate(Count("pk"))
        times.update({(adjuster, spot): count for adjuster, spot, count in counted})
    ordered = sorted(times.items(), key=lambda one: (-one[1], one[0]))
    return [(adjuster, spot, count) for (adjuster, spot), count in ordered[:MOST_CHANGED]]


def _events(car: Car, season: int | None, sheets: Sequence[DaySheet]) -> list[Happened]:
    """From the first sheet's day, or in the season, up to today: what is ahead has not happened."""
    today = timezone.localdate()
    first = date(season, 1, 1) if season else sheets[0].made_on if sheets else today
    last = min(date(season, 12, 31), today) if season else today
    return [
        Happened(event.day, "event", what=event.name, event=event)
        for event in car_events(car, first, last)
    ]


def _changes(on: dict[str, Any], keys: Sequence[Key], known: Catalogue) -> dict[UUID, list[Change]]:
    """What was turned or moved that these measures read, by sheet."""
    steps = {key: known.measures[key.measure].step_id for key in keys}
    found: dict[UUID, list[Change]] = defaultdict(list)
    for change in Change.objects.current().filter(**on):
        touched = touched_by(change, known)
        if any(touched.holds(key.measure, step, key.spot) for key, step in steps.items()):
            found[change.sheet_id].append(change)
    return dict(found)
