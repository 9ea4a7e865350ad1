"""What a car has taught so far: its plans held against the scales, and the rates that follow."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from django.db.models.fields.json import KeyTransform

from cars.catalogue.queries import Catalogue
from cars.figures.geometry import mechanics_of
from cars.mechanics import (
    CORNER_NAMES,
    BadInput,
    Calibrated,
    Chassis,
    Corners,
    MechanicsError,
    Observation,
    calibrate,
)
from cars.mechanics.calibration import COVERAGE_95, Fit
from cars.models import CalibrationReset, Car, Change, Plan, Reading, Sheet
from cars.plans.queries.plan_outcomes import (
    MadeAfter,
    PlanFacts,
    PlanOutcome,
    ReadAfter,
    observation_of,
    outcome_of_plan,
)
from clubsetup.access.errors import NoSuchPage

READ = ("weight", "ride-height")
# So many plans, the newest, are learned from: what a car did more of them ago says little of it.
MOST_PLANS = 100
LAST_SHEETS = 20  # among which a car's last weights are looked for
A_PAGE = 20
SAME_SPRING = 0.01  # rates closer than 1 % are the same spring
PERCENT = 100.0
# kg at each corner of a car nobody has weighed; our judgement.
NOBODY_WEIGHED = Corners.same(40.0)
NO_FIT = (
    "What the scales said does not fit this chassis: check its page, the units and the turns "
    "noted. Until then nothing learned is used."
)


@dataclass(frozen=True, slots=True)
class TurnPlanOutcome:
    """A plan with what was read afterwards, and how it sits with what the car taught else."""

    plan: PlanFacts
    weighed: PlanOutcome
    other_springs: bool = False
    fit: Fit | None = None

    @property
    def is_learned(self) -> bool:
        """It counts towards what the car has taught; one that does not fit hardly does."""
        return self.fit is not None and not self.fit.flagged

    @property
    def is_pending(self) -> bool:
        """The car has not been weighed since."""
        return self.weighed.loads is None and self.weighed.spoilt is None


class OneTurn(NamedTuple):
    """The change of cross by one turn of a seat, percent, with standard uncertainties."""

    corner: str
    cross: float
    u_cross: float
    worked_out: float  # from the chassis page alone
    u_worked_out: float


@dataclass(frozen=True, slots=True, eq=False)
class Calibration:
    """The car as its own readings say it is; ``calibrated`` None without a usable chassis.

    ``stated`` is the same before anything was learned: as the chassis page has it.
    """

    calibrated: Calibrated | None
    outcomes: tuple[TurnPlanOutcome, ...]
    reset: CalibrationReset | None
    trouble: str = ""
    stated: Calibrated | None = None
    loads: Corners = NOBODY_WEIGHED  # that shares are told of, kg

    @property
    def learned(self) -> int:
        """How many changes were learned from."""
        return sum(outcome.is_learned for outcome in self.outcomes)

    @property
    def within(self) -> float | None:
        """Half the 95 % interval of the true change of cross by one turn, percent, at worst."""
        if self.calibrated is None:
            return None
        return COVERAGE_95 * max(one.u_cross for one in self.one_turn)

    @property
    def one_turn(self) -> list[OneTurn]:
        """What one turn of each seat does to cross, before and after learning."""
        if self.calibrated is None or self.stated is None:
            return []
        by_corner = []
        for place, corner in enumerate(CORNER_NAMES):
            turns = Corners.of(float(place == other) for other in range(len(CORNER_NAMES)))
            now = self.calibrated.cross_change(turns, self.loads)
            before = self.stated.cross_change(turns, self.loads)
            parts = (now.change, now.u, before.change, before.u)
            by_corner.append(OneTurn(corner, *(PERCENT * part for part in parts)))
        return by_corner


def _last_weighed(car: Car) -> Corners:
    """The last weights on its newest sheets; without all four, those of a small car with its
    driver."""
    of_car = Sheet.objects.filter(car=car).order_by("-made_on", "-created_at")
    # Asked first: inside the other statement it was worked out once for each weight there is.
    newest = list(of_car.values_list("pk", flat=True)[:LAST_SHEETS])
    standing = Reading.objects.current().filter(sheet__in=newest, measure=READ[0])
    rows = standing.order_by("spot", "-taken_at").distinct("spot").values_list("spot", "value")
    last = {spot: float(value) for spot, value in rows if value}
    if set(last) != set(CORNER_NAMES):
        return NOBODY_WEIGHED
    return Corners.of(last[corner] for corner in CORNER_NAMES)


def calibration_of(
    car: Car, known: Catalogue, *, stated: Chassis | None = None, loads: Corners | None = None
) -> Calibration:
    """What this car has taught since its last reset.

    ``stated`` is the chassis to correct; without one that of the last plan, or the chassis page.
    ``loads`` (kg) are those that shares are told of; without them the car's last weights.
    Eight queries at most, however much was learned.
    """
    reset = CalibrationReset.objects.filter(car=car).order_by("-created_at").first()
    plans = _plans(car.pk, reset.created_at if reset else None)
    if stated is None:
        stated, trouble = stated_chassis(_geometry_of(plans[-1]) if plans else car.chassis.geometry)
        if trouble:
            return Calibration(None, (), reset, trouble)
    weighed = _weighed(car, plans, known)
    return _fitted(stated, plans, weighed, reset, loads or _last_weighed(car))


def stated_chassis(geometry: dict[str, object]) -> tuple[Chassis | None, str]:
    """The chassis that a geometry describes, or a sentence saying what is wrong with it."""
    try:
        return mechanics_of(geometry), ""
    except (BadInput, TypeError, ValueError) as problem:
        return None, f"The chassis page cannot be used: {problem}"


def _plans(car_id: UUID, since: datetime | None) -> list[PlanFacts]:
    """The newest, in the order they were accepted."""
    plans = Plan.objects.filter(sheet__car_id=car_id)
    rows = (plans.filter(created_at__gt=since) if since else plans).order_by("-accepted_at")
    names = PlanFacts._fields[:-1]
    facts = rows.values_list(*names, KeyTransform("spring_rate", "geometry"))[:MOST_PLANS]
    return [PlanFacts._make(row) for row in facts][::-1]


def _geometry_of(plan: PlanFacts) -> dict[str, object]:
    geometry: dict[str, object] = Plan.objects.values_list("geometry", flat=True).get(pk=plan.pk)
    return geometry


def _weighed(car: Car, plans: Sequence[PlanFacts], known: Catalogue) -> list[PlanOutcome]:
    if not plans:
        return []
    sheets = _versions(car, {plan.sheet_id for plan in plans})
    readings: dict[UUID, list[ReadAfter]] = {}
    changes: dict[UUID, dict[tuple[object, ...], MadeAfter]] = {}
    rows = Reading.objects.filter(sheet__in=sheets, measure__in=READ).order_by("created_at")
    for row in map(ReadAfter._make, rows.values_list(*ReadAfter._fields)):
        readings.setdefault(sheets[row.sheet_id], []).append(row)
    made = Change.objects.current().filter(sheet__in=sheets)
    for change in map(MadeAfter._make, made.values_list(*MadeAfter._fields)):
        # A corrected sheet carries copies of the changes before it.
        same = (change.made_at, change.adjuster, change.spot)
        changes.setdefault(sheets[change.sheet_id], {})[same] = change
    return [
        outcome_of_plan(
            plan,
            changes.get(sheets[plan.sheet_id], {}).values(),
            readings.get(sheets[plan.sheet_id], []),
            known,
        )
        for plan in plans
    ]


def _versions(car: Car, sheet_ids: set[UUID]) -> dict[UUID, UUID]:
    """These sheets and every other version of them, each with the first version's id."""
    corrected = Sheet.objects.filter(car=car, corrects__isnull=False).order_by("version")
    first: dict[UUID, UUID] = {}
    for pk, corrects in corrected.values_list("pk", "corrects_id"):
        if corrects is not None:
            first[pk] = first.setdefault(corrects, corrects)
    wanted = {first.get(pk, pk) for pk in sheet_ids}
    return {pk: pk for pk in wanted} | {pk: root for pk, root in first.items() if root in wanted}


def _fitted(
    stated: Chassis | None,
    plans: Sequence[PlanFacts],
    weighed: Sequence[PlanOutcome],
    reset: CalibrationReset | None,
    loads: Corners,
) -> Calibration:
    if stated is None:
        unfitted = tuple(TurnPlanOutcome(p, w) for p, w in zip(plans, weighed, strict=True))
        return Calibration(None, unfitted, reset)
    other = [not _same_springs(stated, plan) for plan in plans]
    pairs = [
        None if strange else observation_of(plan, after)
        for plan, after, strange in zip(plans, weighed, other, strict=True)
    ]
    seen = [pair for pair in pairs if pair is not None]
    calibrated, trouble = _calibrated(stated, seen)
    fits = iter(calibrated.fits if calibrated else ())
    outcomes = tuple(
        TurnPlanOutcome(plan, after, strange, next(fits, None) if pair is not None else None)
        for plan, after, strange, pair in zip(plans, weighed, other, pairs, strict=True)
    )
    before, _ = _calibrated(stated, [])
    return Calibration(calibrated, outcomes, reset, trouble, before, loads)


def _calibrated(stated: Chassis, seen: Sequence[Observation]) -> tuple[Calibrated | None, str]:
    try:
        return calibrate(stated, seen), ""
    except MechanicsError as refused:
        if not seen:
            return None, f"The chassis page cannot be used: {refused}"
    calibrated, trouble = _calibrated(stated, [])
    return calibrated, trouble or NO_FIT


def _same_springs(stated: Chassis, plan: PlanFacts) -> bool:
    then = plan.spring_rate or ()
    return len(then) == len(stated.spring_rate) and all(
        abs(now / rate - 1.0) < SAME_SPRING
        for now, rate in zip(stated.spring_rate, then, strict=True)
    )


class PlanPage(NamedTuple):
    """Some plans with what came of them, newest first; `earlier` names the last, if more follow."""

    plans: list[tuple[Plan, TurnPlanOutcome]]
    earlier: UUID | None


def plan_page(
    outcomes: Sequence[TurnPlanOutcome], before: UUID | None = None, *, most: int | None = None
) -> PlanPage:
    """The newest of these, or of those before the plan `before`. One query, for whole rows of what
    is shown alone."""
    most = A_PAGE if most is None else most
    places = {outcome.plan.pk: place for place, outcome in enumerate(outcomes)}
    if before is not None and before not in places:
        raise NoSuchPage
    end = len(outcomes) if before is None else places[before]
    shown = list(outcomes[max(0, end - most) : end])[::-1]
    rows = Plan.objects.select_related("by").in_bulk([each.plan.pk for each in shown])
    plans = [(rows[each.plan.pk], each) for each in shown]
    return PlanPage(plans, shown[-1].plan.pk if end > most else None)
