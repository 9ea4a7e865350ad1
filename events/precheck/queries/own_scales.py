"""What the team's own scales say of a car: from its newest sheet, or read just now.

It stands on the team's sheets, which row security shows to the team and its coaches alone; an
official asking finds no car.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db.models import QuerySet
from django.utils import timezone

from cars.catalogue.keys import Key
from cars.mechanics import CORNER_NAMES
from cars.models import Car, Reading, Sheet
from cars.plans.queries.sheet_figures import SheetFigures, sheet_figures
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.writing import tell
from events.precheck.queries.precheck_params import WEIGHT, JustRead
from teams.models import Surface

LOOKED_AT = 8  # sheets; older weights say nothing of today's car


@dataclass(frozen=True, slots=True, kw_only=True)
class OnScales:
    """The car as the team's scales had it; `four`: pad by pad; `typed`: on no sheet.

    `fuel` in litres, None where nobody noted it.
    """

    on_sheet: SheetFigures
    weight: Estimate
    driver_in: bool = True
    four: bool = True
    typed: bool = False
    fuel: Decimal | None = None

    @property
    def fuel_text(self) -> str:
        """The fuel as the reader writes it; empty where nobody noted it."""
        if self.fuel is None:
            return ""
        return tell(self.fuel, Kind.VOLUME, unit=self.on_sheet.units.volume).text


def on_scales(car: Car, viewer: User, read: JustRead) -> OnScales | None:
    """What was read just now; else the newest sheet with four weights that still hold."""
    if read.pads:
        on_sheet = _weighed(_newest(car, viewer), read.pads)
        scales = OnScales(
            on_sheet=on_sheet, weight=_total(on_sheet), driver_in=read.driver_in, typed=True
        )
    elif read.total is not None:
        scales = _by_total(car, viewer, read.total, driver_in=read.driver_in)
    else:
        sheet = weighed_sheet(car, viewer)
        if sheet is None:
            return None
        scales = OnScales(on_sheet=sheet, weight=_total(sheet))
        scales = replace(scales, fuel=sheet.sheet.fuel)
    return scales if read.fuel is None else replace(scales, fuel=read.fuel.value)


def weighed_sheet(car: Car, viewer: User) -> SheetFigures | None:
    """The newest sheet with four weights that still hold."""
    for sheet in _sheets(car)[:LOOKED_AT]:
        on_sheet = sheet_figures(sheet, viewer)
        if on_sheet.corners(WEIGHT) is not None:
            return on_sheet
    return None


def _sheets(car: Car) -> QuerySet[Sheet]:
    sheets = Sheet.objects.filter(car=car).exclude(role=Sheet.Role.TARGET)
    return sheets.select_related("team__club", "car__chassis")


def _newest(car: Car, viewer: User) -> SheetFigures:
    """The car's newest sheet for its wheelbases and springs; an empty one where it has none."""
    return sheet_figures(_sheets(car).first() or _blank(car), viewer)


def _blank(car: Car) -> Sheet:
    return Sheet(
        car=car,
        team=car.team,
        role=Sheet.Role.FOUND,
        made_on=timezone.localdate(),
        surface=Surface.PAVED,
        baseline_id=car.baseline_id,
    )


def _weighed(on_sheet: SheetFigures, pads: Mapping[str, Typed]) -> SheetFigures:
    """The bench with these weights in place of its own. Nothing of it is kept."""
    rows = [
        Reading(
            sheet=on_sheet.sheet,
            team_id=on_sheet.sheet.team_id,
            measure_id=WEIGHT,
            spot=corner,
            value=typed.value,
            typed=typed.text,
            unit=typed.unit,
            resolution=typed.resolution,
        )
        for corner, typed in pads.items()
    ]
    others = [row for row in on_sheet.readings if row.measure_id != WEIGHT]
    return replace(on_sheet, readings=[*others, *rows])


def _by_total(car: Car, viewer: User, total: Typed, *, driver_in: bool) -> OnScales:
    """Spread over the pads as the last sheet had it, so that pieces can be planned at all."""
    on_sheet = weighed_sheet(car, viewer)
    if on_sheet is None:
        on_sheet = _weighed(_newest(car, viewer), {})
    else:
        on_sheet = _weighed(on_sheet, _spread(on_sheet, total))
    weight = Estimate(float(total.value), float(total.u))
    return OnScales(on_sheet=on_sheet, weight=weight, driver_in=driver_in, four=False, typed=True)


def _spread(on_sheet: SheetFigures, total: Typed) -> dict[str, Typed]:
    before = on_sheet.figures[Key("total-weight", "car")].value
    # Four pads of half the step come to the total's own uncertainty.
    return {
        corner: replace(
            total,
            value=on_sheet.figures[Key(WEIGHT, corner)].value * total.value / before,
            resolution=total.resolution / 2,
        )
        for corner in CORNER_NAMES
    }


def _total(on_sheet: SheetFigures) -> Estimate:
    total = on_sheet.figures[Key("total-weight", "car")]
    return Estimate(float(total.value), float(total.u))
