"""What goes with a car: made once of what its giver's chief read, and nothing else crosses.

Left out always: the driver, birth dates and weights, weigh-ins, weights read with the driver
seated, plans (their loads are those), runs and what was felt, advice, photos, checks, who wrote
what, the car's name. Left out unless ticked one by one: whatever somebody wrote in their own words,
a driver's name on a sheet, codes, shares and ballast.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Prefetch

from cars.catalogue.queries import Catalogue, catalogue
from cars.handover.queries.hidden_weight import hidden_weight_within
from cars.models import (
    BaselineValue,
    Car,
    Change,
    Comment,
    Handover,
    PartFitted,
    Reading,
    Sheet,
)
from cars.models.catalogue import Taken
from cars.plans.queries.calibration import calibration_of
from teams.models import DriverWeight

CORNERS = ("LF", "RF", "LR", "RR")
WEIGHT, TOTAL = "weight", "total-weight"
SHARES = {"left-share": "left", "rear-share": "rear", "cross": "cross"}
BALLAST = "ballast-total"
# With these and the car on one's own scales the driver's weight is found.
WITH_DRIVER = frozenset({WEIGHT, TOTAL, BALLAST, *SHARES})
# What the ballast was changed by says what was carried.
BALLAST_CHANGES = frozenset({"ballast", "ballast-piece"})
# kg: a car alone is told no finer than it is weighed.
ROUNDED = 0.5
PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class Tick:
    """Something that goes along only if it is ticked, and what it says, to be read first."""

    pk: str
    sheet: UUID
    of: str  # the sheet, by name
    sort: str  # driver, note, reason, comment, words, code or loads
    says: str
    box: tuple[str, str] | None = None  # measure and spot, of words
    within: float | None = None  # kg, of loads: how closely they tell the driver's weight


def sheets_that_may_go(car: Car, history: str) -> list[Sheet]:
    """The closed sheets of this choice that no later version corrects, newest first, with what
    hangs on them. Six queries, however many there are."""
    if history == Handover.History.NONE:
        return []
    rows = Sheet.objects.current().filter(car=car, team=car.team_id, state=Sheet.State.CLOSED)
    if history == Handover.History.SET:
        rows = rows.filter(role=Sheet.Role.SET)
    hanging: Any = (
        Prefetch("readings", Reading.objects.current().order_by("pk"), "standing"),
        Prefetch("changes", Change.objects.current().order_by("pk"), "noted"),
        Prefetch("comments", Comment.objects.order_by("pk"), "said"),
        Prefetch(
            "parts_fitted",
            PartFitted.objects.current().select_related("part__code").order_by("pk"),
            "fitted",
        ),
        Prefetch("baseline__values", BaselineValue.objects.order_by("pk")),
    )
    joined = rows.select_related("driver", "track", "baseline")
    return list(joined.prefetch_related(*hanging).order_by("-made_on", "-created_at"))


def ticks_of(sheets: Sequence[Sheet], known: Catalogue) -> list[Tick]:
    """All that goes along only when ticked."""
    return [tick for sheet in sheets for tick in _ticks(sheet, known)]


def _ticks(sheet: Sheet, known: Catalogue) -> Iterable[Tick]:
    hung: Any = sheet
    of = str(sheet)
    if sheet.driver is not None:
        yield Tick(f"driver:{sheet.pk}", sheet.pk, of, "driver", sheet.driver.display_name)
    if sheet.note:
        yield Tick(f"note:{sheet.pk}", sheet.pk, of, "note", sheet.note)
    if sheet.reason:
        yield Tick(f"reason:{sheet.pk}", sheet.pk, of, "reason", sheet.reason)
    for comment in hung.said:
        yield Tick(f"comment:{comment.pk}", sheet.pk, of, "comment", comment.text)
    for row in hung.standing:
        if known.measures[row.measure_id].taken == Taken.WORDS and row.typed:
            box = (row.measure_id, row.spot)
            yield Tick(f"words:{row.pk}", sheet.pk, of, "words", row.typed, box)
    for row in hung.fitted:
        code = getattr(row.part, "code", None)
        if code is not None:
            says = f"{row.get_sort_display()} {row.spot}: {code.code}"
            yield Tick(f"code:{row.pk}", sheet.pk, of, "code", says)
    shares, ballast = shares_of(hung.standing), _ballast(hung.standing)
    if shares or ballast:
        said = [f"{name} {PERCENT * share:.1f} %" for name, share in shares.items()]
        if ballast:
            said.append(f"ballast {ballast}")
        total = total_of(hung.standing)
        within = hidden_weight_within(total, shares) if total else None
        yield Tick(f"loads:{sheet.pk}", sheet.pk, of, "loads", ", ".join(said), within=within)


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


def _ballast(rows: Sequence[Reading]) -> str:
    return next((shown(row.typed, row.unit) for row in rows if row.measure_id == BALLAST), "")


def shown(typed: str, unit: str) -> str:
    """A figure as it was typed, with its unit where that was left to the form."""
    return f"{typed} {unit}" if unit and typed and typed[-1].isdigit() else typed


def make_package(car: Car, history: str, ticked: Iterable[str]) -> dict[str, Any]:
    """What the receiver sees and gets; `ticked` are ids of ticks, others are passed over."""
    known, ticks = catalogue(), frozenset(ticked)
    sheets = sheets_that_may_go(car, history)
    weights = _weights(sheets)
    none = history == Handover.History.NONE
    return {
        "version": 1,
        "from": {"team": car.team.name, "club": car.team.club.name},
        "club": str(car.team.club_id),
        "history": history,
        "number": car.number,
        "chassis": {
            "id": str(car.chassis_id),
            "name": car.chassis.name,
            "geometry": {} if none else car.chassis.geometry,
        },
        "race_class": car.race_class.name if car.race_class and not none else "",
        "learned": None if none else _learned(car, known),
        "sheets": [_sheet(sheet, ticks, known, weights) for sheet in sheets],
    }


def _learned(car: Car, known: Catalogue) -> dict[str, Any] | None:
    """The rates alone: what turning a seat does to cross is told of the loads."""
    found = calibration_of(car, known)
    if found.calibrated is None or not found.learned:
        return None
    rounded = {
        name: round(value, 3) for name, value in found.calibrated.multipliers._asdict().items()
    }
    u = {name: round(value, 3) for name, value in found.calibrated.u_log._asdict().items()}
    return {"changes": found.learned, "multipliers": rounded, "u": u}


def _weights(sheets: Sequence[Sheet]) -> dict[UUID, list[DriverWeight]]:
    drivers = {sheet.driver_id for sheet in sheets if sheet.driver_id}
    found: dict[UUID, list[DriverWeight]] = {}
    if drivers:
        for row in DriverWeight.objects.filter(driver__in=drivers).order_by("weighed_on"):
            found.setdefault(row.driver_id, []).append(row)
    return found


# A child's weight older than this says too little of the day.
HOLDS_FOR = timedelta(days=120)


def _car_alone(sheet: Sheet, weights: dict[UUID, list[DriverWeight]]) -> float | None:
    hung: Any = sheet
    total = total_of(hung.standing)
    log = weights.get(sheet.driver_id, []) if sheet.driver_id else []
    near = [row for row in log if abs(row.weighed_on - sheet.made_on) <= HOLDS_FOR]
    if total is None or not near:
        return None
    nearest = min(near, key=lambda row: abs(row.weighed_on - sheet.made_on))
    return round((total - float(nearest.mass)) / ROUNDED) * ROUNDED


def _sheet(
    sheet: Sheet,
    ticks: frozenset[str],
    known: Catalogue,
    weights: dict[UUID, list[DriverWeight]],
) -> dict[str, Any]:
    hung: Any = sheet
    readings = [
        {
            "measure": row.measure_id,
            "spot": row.spot,
            "take": row.take,
            "typed": row.typed,
            "unit": row.unit,
            "value": _plain(row.value),
            "resolution": _plain(row.resolution),
            "taken_at": row.taken_at.isoformat(),
        }
        for row in hung.standing
        if _goes(row, known)
    ]
    changes = [
        {
            "adjuster": row.adjuster,
            "spot": row.spot,
            "amount": _plain(row.amount),
            "unit": row.unit,
            "made_at": row.made_at.isoformat(),
        }
        for row in hung.noted
        if row.piece_id is None and row.adjuster not in BALLAST_CHANGES
    ]
    content: dict[str, Any] = {
        "source": str(sheet.pk),
        "role": sheet.role,
        "made_on": sheet.made_on.isoformat(),
        "surface": sheet.surface,
        "track": {"id": str(sheet.track_id), "name": sheet.track.name} if sheet.track else None,
        "fuel": {"value": _plain(sheet.fuel), "typed": sheet.fuel_typed},
        "readings": readings,
        "changes": changes,
        "targets": _targets(sheet, known),
    }
    alone = _car_alone(sheet, weights)
    if alone is not None:
        content["car_alone"] = alone
    content |= _ticked(sheet, ticks, known)
    return content


def _goes(row: Reading, known: Catalogue) -> bool:
    """A figure that tells of the car alone: no words, no checks, nothing with the driver seated."""
    taken = known.measures[row.measure_id].taken
    return taken not in {Taken.WORDS, Taken.DONE} and row.measure_id not in WITH_DRIVER


def _ticked(sheet: Sheet, ticks: frozenset[str], known: Catalogue) -> dict[str, Any]:
    """What was ticked of a sheet."""
    found: dict[str, Any] = {}
    hung: Any = sheet
    for tick in _ticks(sheet, known):
        if tick.pk not in ticks:
            continue
        if tick.sort == "driver":
            found["driver"] = tick.says
        elif tick.sort == "loads":
            found["shares"] = {
                name: round(PERCENT * share, 1) for name, share in shares_of(hung.standing).items()
            }
            if ballast := _ballast(hung.standing):
                found["ballast"] = ballast
        elif tick.sort == "code":
            found.setdefault("codes", []).append(tick.says)
        else:
            found.setdefault("words", []).append(tick.says)
    return found


def _targets(sheet: Sheet, known: Catalogue) -> dict[str, Any] | None:
    """The baseline the sheet was judged by, as text: it is a row of the giver's club."""
    if sheet.baseline is None:
        return None
    return {
        "id": str(sheet.baseline_id),
        "name": f"Baseline version {sheet.baseline.version}, {sheet.baseline.surface}",
        "values": [
            {
                "measure": row.measure_id,
                "spot": row.spot,
                "target": row.target_typed,
                "tolerance": row.tolerance_typed,
            }
            for row in sheet.baseline.values.all()
        ],
    }


def _plain(value: Decimal | None) -> str | None:
    return None if value is None else f"{value.normalize():f}"
