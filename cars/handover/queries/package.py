"""What goes with a car: made once of what its giver's chief read, and nothing else crosses.

Left out always: the driver, birth dates and weights, weigh-ins, weights read with the driver
seated, advice, checks, who wrote what, the car's name. Left out unless ticked one by one: whatever
somebody wrote in their own words, a driver's name, runs, what the driver said of one, codes, shares
and ballast, plans.
"""

from collections.abc import Iterable
from datetime import timedelta
from typing import Any

from cars.catalogue.queries import Catalogue, catalogue
from cars.handover.queries.goods import (
    PERCENT,
    WITH_DRIVER,
    Goods,
    ballast_of,
    change,
    figure,
    goes,
    is_of_car,
    plain,
    shares_of,
    total_of,
)
from cars.handover.queries.run_package import package_of_run
from cars.handover.queries.ticks import of_sheet, pieces_of
from cars.models import Car, Handover, Plan, Reading, Sheet
from cars.plans.queries.calibration import calibration_of

# kg: a car alone is told no finer than it is weighed.
ROUNDED = 0.5
# A child's weight older than this says too little of the day.
HOLDS_FOR = timedelta(days=120)


def make_package(goods: Goods, ticked: Iterable[str]) -> dict[str, Any]:
    """What the receiver sees and gets; `ticked` are ids of ticks, others are passed over."""
    known, ticks = catalogue(), frozenset(ticked)
    car, none = goods.car, goods.history == Handover.History.NONE
    return {
        "version": 2,
        "from": {"team": car.team.name, "club": car.team.club.name},
        "club": str(car.team.club_id),
        "history": goods.history,
        "number": car.number,
        "chassis": {
            "id": str(car.chassis_id),
            "name": car.chassis.name,
            "geometry": {} if none else car.chassis.geometry,
        },
        "race_class": car.race_class.name if car.race_class and not none else "",
        "learned": None if none else _learned(car, known),
        "own_targets": _own_targets(goods, ticks),
        "fitted": pieces_of(goods) if f"fitted:{car.pk}" in ticks else [],
        "sheets": [_sheet(sheet, goods, ticks, known) for sheet in goods.sheets],
        "runs": [
            package_of_run(run, goods, ticks, known)
            for run in goods.runs
            if f"run:{run.pk}" in ticks
        ],
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


def _own_targets(goods: Goods, ticks: frozenset[str]) -> list[dict[str, Any]]:
    """The team's own targets as text: loads only where they are ticked, reasons too."""
    return [
        {
            "measure": row.measure_id,
            "spot": row.spot,
            "surface": row.surface,
            "target": row.target_typed,
            "tolerance": row.tolerance_typed,
            "reason": row.reason if f"own-reason:{row.pk}" in ticks else "",
        }
        for row in goods.own_targets
        if row.measure_id not in WITH_DRIVER or f"own-target:{row.pk}" in ticks
    ]


def _car_alone(sheet: Sheet, goods: Goods) -> float | None:
    hung: Any = sheet
    total = total_of(hung.standing)
    log = goods.weights.get(sheet.driver_id, []) if sheet.driver_id else []
    near = [row for row in log if abs(row.weighed_on - sheet.made_on) <= HOLDS_FOR]
    if total is None or not near:
        return None
    nearest = min(near, key=lambda row: abs(row.weighed_on - sheet.made_on))
    return round((total - float(nearest.mass)) / ROUNDED) * ROUNDED


def _sheet(sheet: Sheet, goods: Goods, ticks: frozenset[str], known: Catalogue) -> dict[str, Any]:
    hung: Any = sheet
    content: dict[str, Any] = {
        "source": str(sheet.pk),
        "role": sheet.role,
        "made_on": sheet.made_on.isoformat(),
        "surface": sheet.surface,
        "track": {"id": str(sheet.track_id), "name": sheet.track.name} if sheet.track else None,
        "fuel": {"value": plain(sheet.fuel), "typed": sheet.fuel_typed},
        "readings": [
            {**figure(row), "take": row.take} for row in hung.standing if goes(row, known)
        ],
        "changes": [change(row) for row in hung.noted if row.piece_id is None and is_of_car(row)],
        "track_changes": [change(row) for row in hung.at_track if is_of_car(row)],
        "track_readings": [figure(row) for row in hung.read_at_track if goes(row, known)],
        "targets": _targets(sheet),
    }
    alone = _car_alone(sheet, goods)
    if alone is not None:
        content["car_alone"] = alone
    return content | _ticked(sheet, goods, ticks, known)


def _ticked(sheet: Sheet, goods: Goods, ticks: frozenset[str], known: Catalogue) -> dict[str, Any]:
    """What was ticked of a sheet."""
    found: dict[str, Any] = {}
    hung: Any = sheet
    for tick in of_sheet(sheet, goods, known):
        if tick.pk not in ticks:
            continue
        if tick.sort == "driver":
            found["driver"] = tick.says
        elif tick.sort == "loads":
            found |= _shares(hung.standing)
        elif tick.sort == "code":
            found.setdefault("codes", []).append(tick.says)
        elif tick.sort == "plan":
            row = next(plan for plan in hung.planned if f"plan:{plan.pk}" == tick.pk)
            found.setdefault("plans", []).append(_plan(row))
        else:
            found.setdefault("words", []).append(tick.says)
    return found


def _shares(rows: list[Reading]) -> dict[str, Any]:
    shares = {name: round(PERCENT * share, 1) for name, share in shares_of(rows).items()}
    ballast = ballast_of(rows)
    return {"shares": shares, **({"ballast": ballast} if ballast else {})}


def _plan(plan: Plan) -> dict[str, Any]:
    """Its turns and its crosses to a tenth; of loads nothing else."""
    return {
        "source": str(plan.pk),
        "accepted_at": plan.accepted_at.isoformat(),
        "turns": [plain(turn) for turn in plan.turns],
        "cross_before": round(PERCENT * plan.cross_before, 1),
        "cross": round(PERCENT * plan.cross, 1),
    }


def _targets(sheet: Sheet) -> dict[str, Any] | None:
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
