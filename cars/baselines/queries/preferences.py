"""A team's preferences beside the maker's and the club's figures, in the order of authority."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from uuid import UUID

from django.db.models import QuerySet

from cars.baselines.queries.baselines import baseline_for
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, catalogue
from cars.figures.formatting import format_figure
from cars.models import BaselineValue, Car, Measure, Preference, Sheet, Step
from clubsetup.access.models import User
from clubsetup.quantities.units import Units
from teams.models import Surface

MAKER = BaselineValue.Source.MAKER


def _of_car_and_surface(of: Sheet) -> QuerySet[Preference]:
    ours = Preference.objects.current().filter(car_id=of.car_id, team_id=of.team_id)
    return ours.filter(surface__in=["", of.surface])


def preferences_for(of: Sheet) -> dict[Key, Preference]:
    """The preferences that stand for the car on that surface, by box.

    One for this surface goes before one for both.
    """
    ordered = sorted(_of_car_and_surface(of), key=lambda row: row.surface != "")
    return {Key(row.measure_id, row.spot): row for row in ordered}


def has_preferences(of: Sheet) -> bool:
    """One at least stands for the car on that surface."""
    return _of_car_and_surface(of).exists()


def departs(preference: Preference, value: BaselineValue | None) -> bool:
    """The team wants something else than the maker's sheet says."""
    return value is not None and value.source == MAKER and value.target != preference.target


@dataclass(frozen=True, slots=True)
class Preferred:
    """A preference in the reader's units, beside the baseline's figure."""

    row: Preference
    measure: Measure
    said: str
    baseline: str = ""
    source: str = ""
    departs: bool = False

    @property
    def key(self) -> Key:
        """Its box."""
        return Key(self.row.measure_id, self.row.spot)

    @property
    def box(self) -> str:
        """'Ride height LF'."""
        return self.measure.name + ("" if self.row.spot == "car" else f" {self.row.spot}")

    @property
    def caution(self) -> str:
        """What to say where the maker's figure is departed from; else empty."""
        if not self.departs:
            return ""
        return f"The maker's sheet says {self.baseline}, and it comes first: know why you depart."


def preferred(
    rows: Mapping[Key, Preference],
    values: Mapping[Key, BaselineValue],
    known: Catalogue,
    units: Units,
    step: Step | None = None,
) -> list[Preferred]:
    """The preferences in the order of work, each beside the baseline's figure for its box."""
    found = []
    for measure in known.measures.values():
        if step is not None and measure.step_id != step.pk:
            continue
        for spot in measure.spots:
            row = rows.get(Key(measure.pk, spot))
            if row is not None:
                found.append(_beside(row, measure, values.get(Key(measure.pk, spot)), units))
    return found


def _beside(
    row: Preference, measure: Measure, value: BaselineValue | None, units: Units
) -> Preferred:
    return Preferred(
        row,
        measure,
        within(row, measure, units),
        baseline=within(value, measure, units) if value else "",
        source=value.source if value else "",
        departs=departs(row, value),
    )


def within(row: Preference | BaselineValue, measure: Measure, units: Units) -> str:
    """'2 1/4 in ± 1/16 in'."""
    tolerance = format_figure(row.tolerance, measure, units, delta=True)
    return f"{format_figure(row.target, measure, units)} ± {tolerance}"


def within_bare(row: Preference | BaselineValue, measure: Measure, units: Units) -> str:
    """'2 1/4 ± 1/16', where the unit stands beside the measure."""
    near = format_figure(row.tolerance, measure, units, delta=True, bare=True)
    return f"{format_figure(row.target, measure, units, bare=True)} ± {near}"


def own_beside(sheet: Sheet, units: Units, step: Step | None = None) -> list[Preferred]:
    """What the team prefers for this sheet, or for one step of it, beside the sheet's baseline.

    One query where it prefers nothing.
    """
    rows = preferences_for(sheet)
    if not rows:
        return []
    return preferred(rows, _values(sheet.baseline_id), catalogue(), units, step)


def preferred_targets(sheet: Sheet) -> dict[Key, BaselineValue]:
    """The preferences that stand for this sheet, as a baseline states its targets."""
    return {
        key: BaselineValue(
            measure_id=key.measure, spot=key.spot, target=row.target, tolerance=row.tolerance
        )
        for key, row in preferences_for(sheet).items()
    }


def _values(baseline_id: UUID | None) -> dict[Key, BaselineValue]:
    if baseline_id is None:
        return {}
    values = BaselineValue.objects.filter(baseline_id=baseline_id)
    return {Key(value.measure_id, value.spot): value for value in values}


@dataclass(slots=True)
class SurfaceView:
    """What a car's team prefers on one surface, or on both."""

    name: str
    lines: list[Preferred] = field(default_factory=list)


@dataclass(slots=True)
class CarPreferences:
    """All that a team prefers of a car, what it preferred before, and the catalogue."""

    surfaces: list[SurfaceView]
    before: list[Preferred]
    known: Catalogue


def car_preferences(car: Car, viewer: User) -> CarPreferences:
    """By surface, beside the baseline that the car goes by there."""
    known, units = catalogue(), viewer.units(car.team.club.units())
    rows = list(
        Preference.objects.filter(car=car, team_id=car.team_id)
        .select_related("by", "replaced_by")
        .order_by("-created_at")
    )
    surfaces = []
    for surface, name in (("", "On both surfaces"), *Surface.choices):
        standing = {
            Key(row.measure_id, row.spot): row
            for row in rows
            if row.surface == surface and row.replaced_at is None
        }
        if standing:
            lines = preferred(standing, _in_force(car, surface), known, units)
            surfaces.append(SurfaceView(name, lines))
    before = [
        _beside(row, known.measures[row.measure_id], None, units) for row in rows if row.replaced_at
    ]
    return CarPreferences(surfaces, before, known)


def _in_force(car: Car, surface: str) -> dict[Key, BaselineValue]:
    """The figures in force; for both surfaces those of the car's own baseline."""
    own = car.baseline
    baseline = baseline_for(car, surface or (own.surface if own else Surface.PAVED))
    return _values(baseline.pk if baseline else None)
