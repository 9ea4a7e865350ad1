"""The cars of one chassis that a coach is let into, measure by measure."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Count, OuterRef, Subquery

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, cached_catalogue
from cars.figures.derived import Figure
from cars.mechanics.board import FEWEST, Field, field_of
from cars.models import BaselineValue, Car, Chassis, Measure, Sheet
from cars.models.catalogue import Taken
from cars.sheets.queries.closed_figures import figures_by_sheet
from clubsetup.access.models import User
from clubsetup.quantities.uncertainty import from_step
from teams.queries.roles import roles_of

# A sheet older than that says little of how a car stands. Our judgement, no source.
OLD_AFTER = timedelta(days=60)


@dataclass(frozen=True, slots=True)
class BoardCar:
    """A car with its newest closed sheet as set on the surface; `is_old`: it does not count."""

    car: Car
    sheet: Sheet | None
    is_old: bool
    figures: Mapping[Key, Figure]


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One box: the cars that count and have it, and what they say together, from four up."""

    measure: Measure
    key: Key
    cars: list[BoardCar]
    old: list[BoardCar]
    field: Field | None
    target: BaselineValue | None

    @property
    def odd(self) -> list[tuple[BoardCar, float]]:
        """The odd ones with their scores, the oddest first."""
        field = self.field
        return [(self.cars[n], field.scores[n]) for n in field.odd] if field else []


@dataclass(frozen=True, slots=True)
class Board:
    """All of it. `counted` are the cars whose sheet is new enough."""

    chassis: Chassis
    surface: str
    since: date
    cars: list[BoardCar]
    rows: list[BoardRow]

    @property
    def counted(self) -> list[BoardCar]:
        """Cars with a sheet that is new enough."""
        return [one for one in self.cars if one.sheet and not one.is_old]


def coached_chassis(viewer: User) -> list[Chassis]:
    """The chassis of the cars that teams let the viewer see as their coach, with how many."""
    rows = Car.objects.filter(team__in=roles_of(viewer).coached).order_by()
    counts = dict(rows.values_list("chassis").annotate(cars=Count("pk")))
    found = list(Chassis.objects.filter(pk__in=counts).select_related("club"))
    for chassis in found:
        chassis.coached_cars = counts[chassis.pk]  # type: ignore[attr-defined]
    return found


def board_of(viewer: User, chassis: Chassis, surface: str, today: date) -> Board | None:
    """The board of a chassis on a surface; None for whoever coaches none of its cars.

    As many queries for four cars as for twelve.
    """
    coached = roles_of(viewer).coached
    cars = list(Car.objects.filter(team__in=coached, chassis=chassis).select_related("team"))
    if not cars:
        return None
    known, since = cached_catalogue(), today - OLD_AFTER
    sheets = _newest_set(cars, surface)
    said = figures_by_sheet(list(sheets.values()), known)
    shown = [_board_car(car, sheets.get(car.pk), said, since) for car in cars]
    targets = _targets([one.sheet for one in shown if one.sheet and not one.is_old])
    rows = [row for key in _keys(known) if (row := _row(known, key, shown, targets))]
    return Board(chassis, surface, since, shown, rows)


def _board_car(
    car: Car, sheet: Sheet | None, said: Mapping[UUID, Mapping[Key, Figure]], since: date
) -> BoardCar:
    if sheet is None:
        return BoardCar(car, None, is_old=False, figures={})
    return BoardCar(car, sheet, is_old=sheet.made_on < since, figures=said[sheet.pk])


def _newest_set(cars: Sequence[Car], surface: str) -> dict[UUID, Sheet]:
    """Of each car the newest sheet as set that is closed, of the team that has it now."""
    rows = Sheet.objects.current().filter(
        role=Sheet.Role.SET, state=Sheet.State.CLOSED, surface=surface
    )
    of_car = rows.filter(car=OuterRef("pk"), team=OuterRef("team"))
    newest = Subquery(of_car.order_by("-made_on", "-created_at").values("pk")[:1])
    asked = Car.objects.filter(pk__in=[car.pk for car in cars]).annotate(newest=newest)
    ids = list(asked.order_by().values_list("newest", flat=True))
    return {sheet.car_id: sheet for sheet in Sheet.objects.filter(pk__in=ids)}


def _targets(sheets: Sequence[Sheet]) -> dict[Key, BaselineValue]:
    """Those of the baseline that most of these sheets are judged by."""
    judged = Counter(sheet.baseline_id for sheet in sheets if sheet.baseline_id)
    if not judged:
        return {}
    (most, _), *_ = judged.most_common(1)
    rows = BaselineValue.objects.filter(baseline=most)
    return {Key(row.measure_id, row.spot): row for row in rows}


def _keys(known: Catalogue) -> list[Key]:
    return [
        Key(measure.pk, spot)
        for step in known.steps
        for measure in known.of_step(step)
        if measure.taken in (Taken.QUANTITY, Taken.DERIVED)
        for spot in measure.spots
    ]


def _row(
    known: Catalogue, key: Key, shown: Sequence[BoardCar], targets: Mapping[Key, BaselineValue]
) -> BoardRow | None:
    have = [one for one in shown if key in one.figures]
    if not have:
        return None
    measure = known.measures[key.measure]
    cars = [one for one in have if not one.is_old]
    figures = [one.figures[key] for one in cars]
    tool = from_step(float(measure.tool_resolution or 0))
    u = max([tool, *(float(figure.u) for figure in figures)])
    field = None
    if len(cars) >= FEWEST and u > 0:
        field = field_of([float(figure.value) for figure in figures], u)
    old = [one for one in have if one.is_old]
    return BoardRow(measure, key, cars, old, field, targets.get(key))
