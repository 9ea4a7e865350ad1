"""How a car moved by itself: from how it was set to how it was next found, weekend by weekend."""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple
from uuid import UUID

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.figures.derived import Figure
from cars.figures.tolerances import tolerance_of
from cars.mechanics.drift import Drift, Place, differences, drift
from cars.models import BaselineValue, Car, Measure, Sheet
from cars.sheets.queries.closed_figures import Values, as_values, figures_by_sheet, kept_values
from cars.sheets.queries.sheets import newest_found_and_set

MOST_WEEKENDS = 60
NO_BASELINE = UUID(int=0)


class PlaceTarget(NamedTuple):
    """What a baseline asks for at a place."""

    target: Decimal
    tolerance: Decimal


BaselineTargets = dict[UUID, dict[Place, PlaceTarget]]
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
    weekends: list[Weekend] = []
    set_sheet: Sheet | None = None
    for sheet in newest_found_and_set(car.pk, most=2 * MOST_WEEKENDS)[::-1]:
        if sheet.role == Sheet.Role.SET:
            set_sheet = sheet
        elif set_sheet is not None:
            weekends.append(Weekend(set_sheet, sheet))
            set_sheet = None
    return weekends


def car_drift(car: Car, known: Catalogue) -> CarDrift:
    """The latest weekend against the car's habit. Six queries, for two weekends as for sixty.

    What closed sheets say is kept; the rest is computed, and so is the sheet that was found last,
    for its uncertainties.
    """
    weekends = weekends_of(car)
    if not weekends:
        return CarDrift(None, [], 0)
    latest = weekends[-1]
    values, newest = _values(weekends, known)
    targets = _targets(weekends)
    moved = _moved(latest, values, targets, known)
    # Of the weekends before, only what says how usual it is.
    earlier = [_moved(weekend, values, targets, known, moved) for weekend in weekends[:-1]]
    tolerances = _tolerances(latest.found_sheet, moved, known, targets)
    u = {Place(key.measure, key.spot): float(figure.u) for key, figure in newest.items()}
    judged = drift(moved, earlier, tolerances, u=u)
    return CarDrift(latest, judged, len(weekends) - 1, other_load=not latest.same_load)


def moved_over(car: Car, known: Catalogue) -> list[tuple[Weekend, dict[Place, float]]]:
    """What moved over each weekend, found minus set, oldest first. As many queries as of drift."""
    weekends = weekends_of(car)
    if not weekends:
        return []
    values, _ = _values(weekends, known)
    targets = _targets(weekends)
    return [(weekend, _moved(weekend, values, targets, known)) for weekend in weekends]


def _values(
    weekends: Sequence[Weekend], known: Catalogue
) -> tuple[dict[UUID, Values], dict[Key, Figure]]:
    """What every sheet says, by sheet; and the figures of the one found last."""
    sheets = _sheets_of(weekends)
    latest = weekends[-1].found_sheet
    values = kept_values(sheet.pk for sheet in sheets)
    missing = [sheet for sheet in sheets if sheet.pk not in values or sheet.pk == latest.pk]
    figures = figures_by_sheet(missing, known)
    values |= {pk: as_values(computed) for pk, computed in figures.items()}
    return values, figures[latest.pk]


def _sheets_of(weekends: Sequence[Weekend]) -> list[Sheet]:
    return [sheet for weekend in weekends for sheet in (weekend.set_sheet, weekend.found_sheet)]


def _moved(
    weekend: Weekend,
    values: Mapping[UUID, Values],
    targets: BaselineTargets,
    known: Catalogue,
    places: Container[Place] | None = None,
) -> dict[Place, float]:
    """What is another figure as found than as set, at these places or at all."""
    same_load = weekend.same_load
    before, after = (
        {
            place: value
            for name, value in values.get(sheet.pk, {}).items()
            if (place := Place(*name.split("."))).measure not in NO_DRIFT
            and (places is None or place in places)
            and (same_load or known.measures[place.measure].step_id not in LOADED)
        }
        for sheet in (weekend.set_sheet, weekend.found_sheet)
    )
    moved = differences(before, after)
    if weekend.set_sheet.baseline_id == weekend.found_sheet.baseline_id:
        return moved
    return {place: by for place, by in moved.items() if _aimed_alike(weekend, place, targets)}


def _targets(weekends: Sequence[Weekend]) -> BaselineTargets:
    """The baselines' targets, by baseline and place."""
    baselines = {sheet.baseline_id for sheet in _sheets_of(weekends) if sheet.baseline_id}
    rows = BaselineValue.objects.filter(baseline__in=baselines or {NO_BASELINE})
    targets: BaselineTargets = {}
    for baseline, measure, spot, *wanted in rows.values_list(
        "baseline_id", "measure_id", "spot", "target", "tolerance"
    ):
        targets.setdefault(baseline, {})[Place(measure, spot)] = PlaceTarget._make(wanted)
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
