"""From the car as it stands to a sheet it was set by before: what differs, and what is gone."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from uuid import UUID

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, cached_catalogue
from cars.figures.derived import Figure
from cars.figures.tolerances import tolerance_of
from cars.history.queries.comparison import ComparedSheet, read_sheets
from cars.mechanics import CORNER_NAMES, BadInput, Corners
from cars.mechanics.differences import Known, difference
from cars.mechanics.goals import Goal
from cars.mechanics.linear_response import Prediction
from cars.mechanics.turnplan import TurnPlan, TurnTarget
from cars.models import Car, Measure, Part, Sheet, Step, TrackChange
from cars.models.catalogue import Taken
from cars.plans.queries.turns import CROSS, PERCENT, TurnTable, predict_turns, turn_plans
from cars.runs.queries.car_now import CarNow, car_now
from cars.runs.queries.runs import newest_details
from cars.runs.queries.team_parts import KnownTyre, spring_near, team_springs, team_tyres
from cars.runs.queries.track_changes import standing, track_changes_of
from clubsetup.access.models import User
from teams.models import Driver, DriverWeight

# What comes of all the rest: it is weighed and computed, and nobody sets it by itself.
COMES_OF_IT = frozenset({"weight", "travel-used", "hand-angle"})
BY_TURNS = ("seat-thread", "ride-height")
SEAT_SORTS = (Part.Sort.SPRING, Part.Sort.DAMPER, Part.Sort.TYRE)
LEAST_KG = Decimal("0.2")  # a driver's weight is dressed and on a bathroom scale; our judgement


@dataclass(frozen=True, slots=True)
class BoxBack:
    """A box that stands otherwise than then by more than the tools can tell."""

    key: Key
    measure: Measure
    now: Figure
    then: Figure

    @property
    def is_more(self) -> bool:
        """It has to become more."""
        return self.then.value > self.now.value


@dataclass(frozen=True, slots=True)
class StepBack:
    """What is to be done in one step of the order of work."""

    step: Step
    boxes: list[BoxBack]


@dataclass(frozen=True, slots=True)
class PartBack:
    """Another part was on this corner then, as far as the viewer may see parts.

    Empty codes where none is noted; `spring` or `tyre` is the team's nearest to how it was.
    """

    sort: str
    spot: str
    then: str
    now: str
    spring: Part | None = None
    tyre: KnownTyre | None = None


@dataclass(frozen=True, slots=True)
class DriverBack:
    """Who drove then and who drives now, with what they weighed where the log says it, kg."""

    then: Driver | None
    now: Driver | None
    mass_then: Decimal | None = None
    mass_now: Decimal | None = None

    @property
    def is_another(self) -> bool:
        """Another child sits in the car."""
        return self.then is not None and self.now is not None and self.then != self.now

    @property
    def heavier(self) -> Decimal | None:
        """By how much who drives now is heavier (minus: lighter) than who drove then."""
        if self.mass_then is None or self.mass_now is None:
            return None
        apart = self.mass_now - self.mass_then
        return apart if abs(apart) >= LEAST_KG else None


@dataclass(frozen=True, slots=True)
class TurnsBack:
    """What brings cross and heights back from what the car weighs now."""

    plan: TurnPlan
    table: TurnTable
    predicted: Prediction


@dataclass(frozen=True, slots=True)
class WayBack:
    """All that lies between the car as it stands and a sheet it was set by."""

    sheet: Sheet
    now: CarNow | None
    steps: list[StepBack]
    comes_to: list[BoxBack]
    to_read: list[Key]
    parts: list[PartBack]
    driver: DriverBack
    changed_after: Sequence[TrackChange]
    turns: TurnsBack | None

    @property
    def is_there(self) -> bool:
        """Nothing is known to differ."""
        return not (self.steps or self.parts or self.turns or self.comes_to)


def way_back(car: Car, sheet: Sheet, viewer: User) -> WayBack:
    """What to turn, swap and add for the car to stand as on this sheet. As many queries however
    much differs."""
    known, now = cached_catalogue(), car_now(car, viewer)
    there, *rest = read_sheets([sheet, *([now.sheet] if now else [])], known)
    apart, to_read = _apart(there, now, known)
    turns = _turns(now, there) if now else None
    by_turns = BY_TURNS if turns else ()
    steps = [
        StepBack(step, boxes)
        for step in known.steps
        if (boxes := [b for b in apart if _is_of(b, step) and b.key.measure not in by_turns])
    ]
    return WayBack(
        sheet=sheet,
        now=now,
        steps=steps,
        comes_to=[box for box in apart if _comes_of_it(box.measure)],
        to_read=to_read,
        parts=_parts(car, there, rest[0] if rest else None),
        driver=_driver(car, sheet, now),
        changed_after=standing(track_changes_of(sheet)),
        turns=turns,
    )


def _is_of(box: BoxBack, step: Step) -> bool:
    return box.measure.step_id == step.pk and not _comes_of_it(box.measure)


def _comes_of_it(measure: Measure) -> bool:
    return measure.taken == Taken.DERIVED or measure.pk in COMES_OF_IT


def _apart(
    there: ComparedSheet, now: CarNow | None, known: Catalogue
) -> tuple[list[BoxBack], list[Key]]:
    """What differs by more than the tools can tell; and what stood there and is not known now."""
    apart, to_read = [], []
    for measure in known.measures.values():
        if not measure.kind:
            continue
        for key in (Key(measure.pk, spot) for spot in measure.spots):
            then = there.figures.get(key)
            if then is None or key in there.stale:
                continue
            figure = now.figure(key) if now else None
            if figure is None:
                to_read += [] if _comes_of_it(measure) else [key]
            elif difference(_known(figure), _known(then)).is_told:
                apart.append(BoxBack(key, measure, figure, then))
    return apart, to_read


def _known(figure: Figure) -> Known:
    return Known(figure.value, figure.u, figure.half_step)


def _turns(now: CarNow, there: ComparedSheet) -> TurnsBack | None:
    """By the seats alone, from the car as it stands; None where it cannot be predicted, or nothing
    is to be turned."""
    table = now.table
    loads, heights = (_corners(now.figure, measure) for measure in ("weight", "ride-height"))
    target = _target(table, there.figures, with_heights=heights is not None)
    if loads is None or target is None or table.calibrated is None:
        return None
    table = replace(table, loads=loads, heights=heights, target=target, cross_asked=None)
    try:
        plans = turn_plans(table)
        plan = next((each for each in plans if each.shortfall is None), plans[-1])
        if not plan.adjusters:
            return None
        return TurnsBack(plan, table, predict_turns(table, plan.turns))
    except (BadInput, IndexError):
        return None


def _corners(figure_of: Callable[[Key], Figure | None], measure: str) -> Corners | None:
    figures = [figure_of(Key(measure, corner)) for corner in CORNER_NAMES]
    taken = [float(figure.value) for figure in figures if figure is not None]
    return Corners.of(taken) if len(taken) == len(CORNER_NAMES) else None


def _target(
    table: TurnTable, then: Mapping[Key, Figure], *, with_heights: bool
) -> TurnTarget | None:
    known = table.on_sheet.known
    share = _goal(table, then.get(CROSS), CROSS, known)
    cross = Goal(share.value / PERCENT, share.tolerance / PERCENT) if share else None
    keys = [Key("ride-height", corner) for corner in CORNER_NAMES]
    heights = tuple(
        _goal(table, then.get(key), key, known) if with_heights else None for key in keys
    )
    return TurnTarget(cross, heights) if cross or any(heights) else None


def _goal(table: TurnTable, figure: Figure | None, key: Key, known: Catalogue) -> Goal | None:
    if figure is None:
        return None
    standard = table.standards.get(key)
    usual = tolerance_of(known.measures[key.measure])
    tolerance = float(standard.tolerance) if standard and standard.tolerance > 0 else usual
    return Goal(float(figure.value), tolerance)


def _parts(car: Car, there: ComparedSheet, here: ComparedSheet | None) -> list[PartBack]:
    """Parts that were on then and are not on now, in the order of the corners."""
    on_now = here.parts if here else {}
    rows = [
        (sort, spot, part, on_now.get((sort, spot)))
        for (sort, spot), part in there.parts.items()
        if on_now.get((sort, spot), (None, ""))[0] != part[0]
    ]
    if not rows:
        return []
    springs, tyres = team_springs(car.team_id), team_tyres(car.team_id)
    return [
        PartBack(
            sort,
            spot,
            then=part[1],
            now=other[1] if other else "",
            spring=_nearest_spring(there, here, spot, springs, part[0])
            if sort == "spring"
            else None,
            tyre=_nearest_tyre(there, spot, tyres, part[0]) if sort == "tyre" else None,
        )
        for sort, spot, part, other in sorted(rows, key=_in_order)
    ]


def _in_order(row: tuple[str, str, object, object]) -> tuple[int, int]:
    return [str(sort) for sort in SEAT_SORTS].index(row[0]), CORNER_NAMES.index(row[1])


def _nearest_spring(
    there: ComparedSheet,
    here: ComparedSheet | None,
    spot: str,
    springs: Collection[Part],
    but: UUID,
) -> Part | None:
    key = Key("spring-rate", spot)
    then = there.figures.get(key)
    now = here.figures.get(key) if here else None
    if then is None or now is None or then.value == now.value:
        return None
    others = [spring for spring in springs if spring.pk != but]
    return spring_near(others, now.value, then.value - now.value)


def _nearest_tyre(
    there: ComparedSheet, spot: str, tyres: Collection[KnownTyre], but: UUID
) -> KnownTyre | None:
    then = there.figures.get(Key("circumference", spot))
    others = [tyre for tyre in tyres if tyre.part != but]
    if then is None or not others:
        return None
    return min(others, key=lambda tyre: abs(tyre.roll_out - then.value))


def _driver(car: Car, sheet: Sheet, now: CarNow | None) -> DriverBack:
    details = newest_details([], car)
    driver = details.driver if details else now.sheet.driver if now else None
    return DriverBack(
        sheet.driver,
        driver,
        _mass(sheet.driver, sheet.made_on),
        _mass(driver, None),
    )


def _mass(driver: Driver | None, until: date | None) -> Decimal | None:
    """As the log had it last, by that day where one is given; None for whoever may not see it."""
    if driver is None:
        return None
    rows = DriverWeight.objects.filter(driver=driver, team=driver.team_id)
    rows = rows.filter(weighed_on__lte=until) if until else rows
    return rows.order_by("-weighed_on", "-id").values_list("mass", flat=True).first()
