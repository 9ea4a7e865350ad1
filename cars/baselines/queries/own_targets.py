"""A team's own targets, and the maker's and the club's figures that they stand beside."""

from uuid import UUID

from django.db.models import QuerySet

from cars.baselines.queries.baselines import baseline_for
from cars.catalogue.keys import Key
from cars.models import BaselineValue, Car, OwnTarget, Sheet
from cars.models.current import ReplacedRows
from teams.models import Surface

MAKER = BaselineValue.Source.MAKER


def _of_car_and_surface(of: Sheet) -> QuerySet[OwnTarget]:
    rows = OwnTarget.objects.current().filter(car_id=of.car_id, team_id=of.team_id)
    return rows.filter(surface__in=["", of.surface])


def own_targets_for(of: Sheet) -> dict[Key, OwnTarget]:
    """The own targets that stand for the car on that surface, by box.

    One for this surface goes before one for both.
    """
    ordered = sorted(_of_car_and_surface(of), key=lambda row: row.surface != "")
    return {Key(row.measure_id, row.spot): row for row in ordered}


def has_own_targets(of: Sheet) -> bool:
    """One at least stands for the car on that surface."""
    return _of_car_and_surface(of).exists()


def departs(own_target: OwnTarget, value: BaselineValue | None) -> bool:
    """The team wants something else than the maker's sheet says."""
    return value is not None and value.source == MAKER and value.target != own_target.target


def own_target_values(sheet: Sheet) -> dict[Key, BaselineValue]:
    """The own targets that stand for this sheet, as a baseline states its targets."""
    return {
        key: BaselineValue(
            measure_id=key.measure, spot=key.spot, target=row.target, tolerance=row.tolerance
        )
        for key, row in own_targets_for(sheet).items()
    }


def baseline_values(baseline_id: UUID | None) -> dict[Key, BaselineValue]:
    """The figures of a baseline by box; none without one."""
    if baseline_id is None:
        return {}
    values = BaselineValue.objects.filter(baseline_id=baseline_id)
    return {Key(value.measure_id, value.spot): value for value in values}


def values_in_force(car: Car, surface: str) -> dict[Key, BaselineValue]:
    """The figures in force; for both surfaces those of the car's own baseline."""
    own = car.baseline
    baseline = baseline_for(car, surface or (own.surface if own else Surface.PAVED))
    return baseline_values(baseline.pk if baseline else None)


def own_targets_of(car: Car) -> ReplacedRows[OwnTarget]:
    """Those that stand for the car and those before, the newest first."""
    rows = OwnTarget.objects.filter(car=car, team_id=car.team_id)
    return rows.select_related("by", "replaced_by").order_by("-created_at", "-pk")
