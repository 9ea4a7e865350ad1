"""How a car moved by itself: from how it was set to how it was next found, weekend by weekend."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.catalogue.staleness import makes_stale, stale_readings
from cars.figures.derived import Figure, add_derived, figures_of
from cars.figures.tolerances import tolerance_of
from cars.mechanics.drift import Drift, Place, differences, drift
from cars.models import BaselineValue, Car, Change, Measure, Reading, Sheet

MOST_WEEKENDS = 60
NO_BASELINE = UUID(int=0)
BaselineTargets = dict[UUID, dict[Place, BaselineValue]]
# What people change or count, and what tells of driving rather than of the car.
NO_DRIFT = frozenset(
    {"spring-rate", "travel-used", "hand-angle", "ballast-total", "teeth-driving", "teeth-driven"}
)
# Read with the driver in and the fuel aboard: another driver is no drift.
LOADED = ("ride-heights", "scales")


@dataclass(frozen=True, slots=True)
class Weekend:
    """How the car was set, and how it was found next."""

    set_sheet: Sheet
    found_sheet: Sheet

    @property
    def same_load(self) -> bool:
        """The same driver sat in it with the same fuel."""
        one, other = self.set_sheet, self.found_sheet
        return (one.driver_id, one.fuel) == (other.driver_id, other.fuel)


@dataclass(frozen=True, slots=True)
class CarDrift:
    """What moved over the latest weekend, judged by the ones before; None without two sheets."""

    latest: Weekend | None
    drifts: list[Drift]
    earlier: int
    other_load: bool = False

    @property
    def moved(self) -> list[Drift]:
        """More than its tolerance, and more than this car usually moves."""
        return [each for each in self.drifts if each.verdict == "moved"]


def weekends_of(car: Car) -> list[Weekend]:
    """Each sheet of a car as found with the set sheet before it, oldest first."""
    sheets = list(
        Sheet.objects.current()
        .filter(car=car, role__in=[Sheet.Role.FOUND, Sheet.Role.SET])
        .order_by("-made_on", "-created_at")[: 2 * MOST_WEEKENDS]
    )[::-1]
    weekends: list[Weekend] = []
    set_sheet: Sheet | None = None
    for sheet in sheets:
        if sheet.role == Sheet.Role.SET:
            set_sheet = sheet
        elif set_sheet is not None:
            weekends.append(Weekend(set_sheet, sheet))
            set_sheet = None
    return weekends


def car_drift(car: Car, known: Catalogue) -> CarDrift:
    """The latest weekend against the car's habit. Four queries, for two weekends as for sixty."""
    weekends = weekends_of(car)
    if not weekends:
        return CarDrift(None, [], 0)
    figures = _figures(weekends, known)
    targets = _targets(weekends)
    moved = [
        {
            place: difference
            for place, difference in _differences(weekend, figures, known).items()
            if _aimed_alike(weekend, place, targets)
        }
        for weekend in weekends
    ]
    latest = weekends[-1]
    tolerances = _tolerances(latest.found_sheet, moved[-1], known, targets)
    u = {
        Place(key.measure, key.spot): float(figure.u)
        for key, figure in figures.get(latest.found_sheet.pk, {}).items()
    }
    judged = drift(moved[-1], moved[:-1], tolerances, u=u)
    return CarDrift(latest, judged, len(weekends) - 1, other_load=not latest.same_load)


def _figures(weekends: Sequence[Weekend], known: Catalogue) -> dict[UUID, dict[Key, Figure]]:
    sheets = [
        sheet.pk for weekend in weekends for sheet in (weekend.set_sheet, weekend.found_sheet)
    ]
    rows: dict[UUID, list[Reading]] = {}
    for row in Reading.objects.filter(sheet__in=sheets).order_by("taken_at"):
        rows.setdefault(row.sheet_id, []).append(row)
    changes: dict[UUID | None, list[Change]] = {}
    # What is changed on a car as found is noted on the set sheet that follows it.
    on = Q(sheet__in=sheets) | Q(sheet__based_on__in=sheets)
    for change in Change.objects.current().filter(on).select_related("sheet"):
        for sheet_id in {change.sheet_id, change.sheet.based_on_id}:
            changes.setdefault(sheet_id, []).append(change)
    figures = {}
    for weekend in weekends:
        for sheet, pick in (
            (weekend.set_sheet, readings_as_set),
            (weekend.found_sheet, readings_as_found),
        ):
            taken = pick(rows.get(sheet.pk, []), changes.get(sheet.pk, []), known)
            figures[sheet.pk] = add_derived(figures_of(taken))
    return figures


def readings_as_set(
    readings: Iterable[Reading], changes: Iterable[Change], known: Catalogue
) -> list[Reading]:
    """The readings that say how the car was set: those in force and are not stale."""
    standing = [row for row in readings if row.replaced_at is None]
    stale = stale_readings(standing, changes, known)
    return [row for row in standing if Key(row.measure_id, row.spot) not in stale]


def readings_as_found(
    readings: Iterable[Reading], changes: Iterable[Change], known: Catalogue
) -> list[Reading]:
    """The readings that say how the car came: of each box the last one before it was touched."""
    made = list(changes)
    last: dict[tuple[str, str, int], Reading] = {}
    for row in sorted(readings, key=lambda row: row.taken_at):
        measure = known.measures.get(row.measure_id)
        if measure is None or any(
            change.made_at <= row.taken_at
            and makes_stale(change, measure.pk, measure.step_id, row.spot, known)
            for change in made
        ):
            continue
        last[row.measure_id, row.spot, row.take] = row
    for row in last.values():
        row.replaced_at = None  # it stood when the car came; the row is not saved
    return list(last.values())


def _differences(
    weekend: Weekend, figures: Mapping[UUID, Mapping[Key, Figure]], known: Catalogue
) -> dict[Place, float]:
    before, after = (
        {
            Place(key.measure, key.spot): float(figure.value)
            for key, figure in figures.get(sheet.pk, {}).items()
            if key.measure not in NO_DRIFT
            and (weekend.same_load or known.measures[key.measure].step_id not in LOADED)
        }
        for sheet in (weekend.set_sheet, weekend.found_sheet)
    )
    return differences(before, after)


def _targets(weekends: Sequence[Weekend]) -> BaselineTargets:
    """The baselines' targets, by baseline and place."""
    sheets = [sheet for weekend in weekends for sheet in (weekend.set_sheet, weekend.found_sheet)]
    baselines = {sheet.baseline_id for sheet in sheets if sheet.baseline_id}
    targets: BaselineTargets = {}
    for row in BaselineValue.objects.filter(baseline__in=baselines or {NO_BASELINE}):
        targets.setdefault(row.baseline_id, {})[Place(row.measure_id, row.spot)] = row
    return targets


def _aimed_alike(weekend: Weekend, place: Place, targets: BaselineTargets) -> bool:
    """Nobody wanted another figure there in between, as from pavement to dirt."""
    one, other = (
        targets.get(sheet.baseline_id or NO_BASELINE, {}).get(place)
        for sheet in (weekend.set_sheet, weekend.found_sheet)
    )
    return (one and one.target) == (other and other.target)


def _tolerances(
    sheet: Sheet, places: Iterable[Place], known: Catalogue, targets: BaselineTargets
) -> dict[Place, float]:
    rows = targets.get(sheet.baseline_id or NO_BASELINE, {})
    return {
        place: (float(rows[place].tolerance) if place in rows else 0.0)
        or tolerance_of(_measure(known, place))
        for place in places
    }


def _measure(known: Catalogue, place: Place) -> Measure:
    return known.measures[place.measure]
