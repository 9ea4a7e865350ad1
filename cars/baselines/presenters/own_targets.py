"""A team's own targets beside the maker's and the club's figures, in the order of authority."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from uuid import UUID

from cars.baselines.queries.own_targets import (
    baseline_values,
    departs,
    own_targets_for,
    own_targets_of,
    values_in_force,
)
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, cached_catalogue
from cars.figures.formatting import format_figure
from cars.models import BaselineValue, Car, Measure, OwnTarget, Sheet, Step
from clubsetup.access.models import User
from clubsetup.quantities.units import Units
from clubsetup.site.list_pages import page_of
from teams.models import Surface


@dataclass(frozen=True, slots=True)
class OwnTargetLine:
    """An own target in the reader's units, beside the baseline's figure."""

    row: OwnTarget
    measure: Measure
    text: str
    baseline: str = ""
    source: str = ""
    departs: bool = False

    @property
    def key(self) -> Key:
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


def own_target_lines(
    rows: Mapping[Key, OwnTarget],
    values: Mapping[Key, BaselineValue],
    known: Catalogue,
    units: Units,
    step: Step | None = None,
) -> list[OwnTargetLine]:
    """The own targets in the order of work, each beside the baseline's figure for its box."""
    lines = []
    for measure in known.measures.values():
        if step is not None and measure.step_id != step.pk:
            continue
        for spot in measure.spots:
            row = rows.get(Key(measure.pk, spot))
            if row is not None:
                lines.append(_line(row, measure, values.get(Key(measure.pk, spot)), units))
    return lines


def _line(
    row: OwnTarget, measure: Measure, value: BaselineValue | None, units: Units
) -> OwnTargetLine:
    return OwnTargetLine(
        row,
        measure,
        within(row, measure, units),
        baseline=within(value, measure, units) if value else "",
        source=value.source if value else "",
        departs=departs(row, value),
    )


def within(row: OwnTarget | BaselineValue, measure: Measure, units: Units) -> str:
    """'2 1/4 in ± 1/16 in'."""
    tolerance = format_figure(row.tolerance, measure, units, delta=True)
    return f"{format_figure(row.target, measure, units)} ± {tolerance}"


def within_bare(row: OwnTarget | BaselineValue, measure: Measure, units: Units) -> str:
    """'2 1/4 ± 1/16', where the unit stands beside the measure."""
    near = format_figure(row.tolerance, measure, units, delta=True, bare=True)
    return f"{format_figure(row.target, measure, units, bare=True)} ± {near}"


def sheet_own_target_lines(
    sheet: Sheet, units: Units, step: Step | None = None
) -> list[OwnTargetLine]:
    """The team's own targets for this sheet, or for one step of it, beside the sheet's baseline.

    One query where it has none.
    """
    rows = own_targets_for(sheet)
    if not rows:
        return []
    return own_target_lines(
        rows, baseline_values(sheet.baseline_id), cached_catalogue(), units, step
    )


@dataclass(slots=True)
class SurfaceOwnTargets:
    """A team's own targets for a car on one surface, or on both."""

    name: str
    lines: list[OwnTargetLine] = field(default_factory=list)


A_PAGE = 30


@dataclass(slots=True)
class CarOwnTargets:
    """A team's own targets for a car, a page of those before, and the catalogue; `earlier` names
    the last of the page, if more follow."""

    surfaces: list[SurfaceOwnTargets]
    before: list[OwnTargetLine]
    earlier: UUID | None
    known: Catalogue


def car_own_targets(car: Car, viewer: User, before: UUID | None = None) -> CarOwnTargets:
    """By surface, beside the baseline that the car goes by there."""
    known, units = cached_catalogue(), viewer.units(car.team.club.units())
    rows = list(own_targets_of(car).current())
    surfaces = []
    for surface, name in (("", "On both surfaces"), *Surface.choices):
        standing = {Key(row.measure_id, row.spot): row for row in rows if row.surface == surface}
        if standing:
            lines = own_target_lines(standing, values_in_force(car, surface), known, units)
            surfaces.append(SurfaceOwnTargets(name, lines))
    replaced = own_targets_of(car).filter(replaced_at__isnull=False)
    page, earlier = page_of(replaced, A_PAGE, before)
    lines = [_line(row, known.measures[row.measure_id], None, units) for row in page]
    return CarOwnTargets(surfaces, lines, earlier, known)
