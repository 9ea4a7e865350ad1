"""What of a car may go along, read at once, and what its figures tell of its driver."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, Q

from cars.catalogue.queries import Catalogue
from cars.models import (
    BallastPiece,
    BaselineValue,
    Car,
    Change,
    Comment,
    Feel,
    Handover,
    Laps,
    OwnTarget,
    PartFitted,
    Plan,
    Reading,
    Run,
    RunDetails,
    RunReading,
    Sheet,
    TrackChange,
    TrackReading,
)
from cars.models.catalogue import Taken
from cars.models.run import RunQuerySet
from cars.plans.queries.class_limits import class_limit
from teams.models import DriverWeight

CORNERS = ("LF", "RF", "LR", "RR")
WEIGHT, TOTAL = "weight", "total-weight"
SHARES = {"left-share": "left", "rear-share": "rear", "cross": "cross"}
BALLAST = "ballast-total"
# With these and the car on one's own scales the driver's weight is found.
WITH_DRIVER = frozenset({WEIGHT, TOTAL, BALLAST, *SHARES})
# What the ballast was changed by says what was carried.
BALLAST_CHANGES = frozenset({"ballast", "ballast-piece"})
PERCENT = 100.0
# The unit of teeth and the like, which nobody writes.
COUNTED = "1"


@dataclass(frozen=True)
class Goods:
    """The rows that may go along, each sheet and run with what hangs on it."""

    car: Car
    history: str
    sheets: list[Sheet] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    own_targets: list[OwnTarget] = field(default_factory=list)
    pieces: list[BallastPiece] = field(default_factory=list)
    minimum: float | None = None  # kg, of the car's class
    weights: dict[UUID, list[DriverWeight]] = field(default_factory=dict)


def goods_of(
    car: Car, history: str, ticked: Iterable[str] = (), season: int | None = None
) -> Goods:
    """The closed sheets of this choice that no later version corrects, newest first, and the runs
    that nobody struck: those that are ticked, and those of a season to be chosen from.

    As many queries for one as for a hundred.
    """
    if history == Handover.History.NONE:
        return Goods(car, history)
    rows = Sheet.objects.current().filter(car=car, team=car.team_id, state=Sheet.State.CLOSED)
    if history == Handover.History.SET:
        rows = rows.filter(role=Sheet.Role.SET)
    sheets = list(
        rows.select_related("driver", "track", "baseline")
        .prefetch_related(*_on_sheets())
        .order_by("-made_on", "-created_at")
    )
    ran = _runs(car, ticked, season).prefetch_related(*_on_runs())
    own = OwnTarget.objects.current().filter(car=car, team=car.team_id).order_by("pk")
    pieces = BallastPiece.objects.in_use().filter(car=car, team=car.team_id)
    limit = class_limit(car)
    return Goods(
        car,
        history,
        sheets,
        list(ran.order_by("-ran_at", "-id")),
        list(own),
        list(pieces.select_related("mount").order_by("pk")),
        float(limit.minimum) if limit and limit.minimum is not None else None,
        _weights(sheets),
    )


def seasons_of(car: Car) -> list[int]:
    """The years in which the car ran for its team, the newest first."""
    zone = car.team.club.zone()
    runs = Run.objects.current().filter(car=car, team=car.team_id).order_by()
    return [one.year for one in runs.datetimes("ran_at", "year", order="DESC", tzinfo=zone)]


def _runs(car: Car, ticked: Iterable[str], season: int | None) -> RunQuerySet:
    wanted = Q(pk__in=[pk for name in ticked if (pk := _run_id(name))])
    if season is not None:
        zone = car.team.club.zone()
        ends = [datetime(year, 1, 1, tzinfo=zone) for year in (season, season + 1)]
        wanted |= Q(ran_at__gte=ends[0], ran_at__lt=ends[1])
    return Run.objects.current().filter(wanted, car=car, team=car.team_id)


def _run_id(tick: str) -> UUID | None:
    sort, _, pk = tick.partition(":")
    try:
        return UUID(pk) if sort == "run" else None
    except ValueError:
        return None


def _on_sheets() -> Any:
    return (
        Prefetch("readings", Reading.objects.current().order_by("pk"), "standing"),
        Prefetch("changes", Change.objects.current().order_by("pk"), "noted"),
        Prefetch("comments", Comment.objects.order_by("pk"), "said"),
        Prefetch("plans", Plan.objects.order_by("pk"), "planned"),
        Prefetch("track_changes", TrackChange.objects.current().order_by("pk"), "at_track"),
        Prefetch("track_readings", TrackReading.objects.current().order_by("pk"), "read_at_track"),
        Prefetch(
            "parts_fitted",
            PartFitted.objects.current().select_related("part__code").order_by("pk"),
            "fitted",
        ),
        Prefetch("baseline__values", BaselineValue.objects.order_by("pk")),
    )


def _on_runs() -> Any:
    details = RunDetails.objects.current().select_related("driver", "track")
    return (
        Prefetch("details", details, "known"),
        Prefetch("feels", Feel.objects.current().order_by("pk"), "felt"),
        Prefetch("laps", Laps.objects.current(), "timed"),
        Prefetch("readings", RunReading.objects.current().order_by("pk"), "read"),
    )


def _weights(sheets: Sequence[Sheet]) -> dict[UUID, list[DriverWeight]]:
    drivers = {sheet.driver_id for sheet in sheets if sheet.driver_id}
    found: dict[UUID, list[DriverWeight]] = {}
    if drivers:
        for row in DriverWeight.objects.filter(driver__in=drivers).order_by("weighed_on"):
            found.setdefault(row.driver_id, []).append(row)
    return found


def shares_of(rows: Sequence[Reading]) -> dict[str, float]:
    """Left, rear and cross as fractions, from the four weights or as they were read."""
    loads = {row.spot: float(row.value) for row in rows if row.measure_id == WEIGHT and row.value}
    if set(loads) == set(CORNERS):
        total = sum(loads.values())
        return {
            "left": (loads["LF"] + loads["LR"]) / total,
            "rear": (loads["LR"] + loads["RR"]) / total,
            "cross": (loads["RF"] + loads["LR"]) / total,
        }
    return {
        SHARES[row.measure_id]: float(row.value) / PERCENT
        for row in rows
        if row.measure_id in SHARES and row.value is not None
    }


def total_of(rows: Sequence[Reading]) -> float | None:
    """Car and driver, kg."""
    loads = {row.spot: float(row.value) for row in rows if row.measure_id == WEIGHT and row.value}
    if set(loads) == set(CORNERS):
        return sum(loads.values())
    return next((float(r.value) for r in rows if r.measure_id == TOTAL and r.value), None)


def ballast_of(rows: Sequence[Reading]) -> str:
    """All the ballast, as it was typed; empty where it was not."""
    return next((shown(row.typed, row.unit) for row in rows if row.measure_id == BALLAST), "")


def shown(typed: str, unit: str) -> str:
    """A figure as it was typed, with its unit where that was left to the form."""
    is_left = unit and unit != COUNTED and typed and typed[-1].isdigit()
    return f"{typed} {unit}" if is_left else typed


def figure(row: Any) -> dict[str, Any]:
    """A reading, as it was typed and as it is kept."""
    return {
        "measure": row.measure_id,
        "spot": row.spot,
        "typed": row.typed,
        "unit": row.unit,
        "value": plain(row.value),
        "resolution": plain(row.resolution),
        "taken_at": (getattr(row, "taken_at", None) or row.created_at).isoformat(),
    }


def change(row: Any) -> dict[str, Any]:
    """Something turned, moved or swapped."""
    return {
        "adjuster": row.adjuster,
        "spot": row.spot,
        "amount": plain(row.amount),
        "unit": row.unit,
        "made_at": row.made_at.isoformat(),
    }


def is_of_car(row: Any) -> bool:
    """A change of the car itself; what the ballast was changed by says what was carried."""
    return row.adjuster not in BALLAST_CHANGES


def goes(row: Any, known: Catalogue) -> bool:
    """A figure that tells of the car alone: no words, no checks, nothing with the driver seated."""
    taken = known.measures[row.measure_id].taken
    return taken not in {Taken.WORDS, Taken.DONE} and row.measure_id not in WITH_DRIVER


def plain(value: Decimal | None) -> str | None:
    """A figure as text, without ending zeros."""
    return None if value is None else f"{value.normalize():f}"
