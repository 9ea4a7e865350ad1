"""Starting a bench."""

from datetime import date
from uuid import UUID

from cars.models import Baseline, Car, Sheet
from cars.sheets.actions.set_sheet import set_target_source
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.actions import action
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from teams.models import Driver, Track


@action
def start_bench(
    *,
    by: User,
    car: Car,
    role: str,
    made_on: date | None = None,
    baseline: Baseline | None = None,
    target: Sheet | None = None,
    own: bool = False,
    track: Track | None = None,
    surface: str = "",
    driver: Driver | None = None,
    fuel: Typed | None = None,
    note: str = "",
    sheet_id: UUID | None = None,
) -> Sheet:
    """Opens a sheet whose targets come from a baseline, from the team's `own` targets over it, or
    from another sheet of the car.

    A target sheet lends its surface and its baseline where none are given; the baseline's
    tolerances then go with its figures.
    """
    if role not in {Sheet.Role.FOUND, Sheet.Role.SET}:
        raise Invalid("role", "Choose as found or as set.")
    if own and target is not None:
        raise Invalid("target", "Choose one: the team's own targets, or a sheet.")
    if target is not None:
        _check_target(car, target)
        surface = surface or (track.surface if track else target.surface)
        if baseline is None and target.baseline and target.baseline.surface == surface:
            baseline = target.baseline
    sheet = open_sheet(
        by=by,
        car=car,
        role=role,
        made_on=made_on,
        surface=surface,
        driver=driver,
        track=track,
        baseline=baseline,
        fuel=fuel,
        note=note,
        sheet_id=sheet_id,
        alone=True,
    )
    set_target_source(sheet, target, own=own)
    return sheet


def _check_target(car: Car, target: Sheet) -> None:
    if target.car_id != car.pk or target.team_id != car.team_id:
        raise Invalid("target", "Choose a sheet of this car.")
