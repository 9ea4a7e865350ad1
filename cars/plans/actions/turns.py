"""Accepting a plan of turns, and starting to learn a car anew."""

from collections.abc import Sequence
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from cars.catalogue.adjusters import SPRING_SEAT
from cars.constraint_messages import constraint_messages
from cars.mechanics import CORNER_NAMES, BadInput, Corners
from cars.mechanics.linear_response import Prediction
from cars.models import CalibrationReset, Car, Change, Plan, Sheet
from cars.permissions import check_can_keep_car, check_can_write_sheet
from cars.plans.queries.turns import TurnTable, predict_turns, turn_table
from cars.sheets.actions.conflicts import Unseen
from cars.sheets.actions.readings import locked_open
from cars.sheets.actions.set_sheet import set_sheet_for
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User

MOST_TURNS = 20
LONGEST_REASON = 200


@action
def accept_plan(
    *,
    by: User,
    sheet: Sheet,
    turns: Sequence[Decimal],
    seen: str | Unseen,
    plan_id: UUID | None = None,
) -> Plan:
    """Notes the turns made at the four seats, LF RF LR RR, with what they are predicted to give.

    The prediction is computed here, from the readings as they stand; `seen` is the mark of those
    that the person looked at, and where they have changed since nothing is accepted. No reading
    is taken: the weights and heights must be taken again. What is turned on a car as found is
    noted on the sheet as set, opened where there is none yet, and the found one stays as it is.
    """
    check_can_write_sheet(by, sheet)
    sheet = _whole(locked_open(sheet))
    table = turn_table(sheet, by)
    if not table.ready:
        raise WrongState(" ".join(table.missing))
    if not isinstance(seen, Unseen) and seen != table.seen:
        raise WrongState("A reading has changed since this plan was made. Look at it again.")
    table = _table_on_set_sheet(by, table)
    sheet = table.on_sheet.sheet
    what = _predicted(table, turns)
    plan = _plan(by, table, what, turns, plan_id)
    with constraint_messages():
        plan.save(force_insert=True)
        Change.objects.bulk_create(_changes(plan))
    record(
        by=by,
        did="accepted",
        on=sheet,
        team_id=sheet.team_id,
        plan=str(plan.pk),
        turns={c: str(t) for c, t in zip(CORNER_NAMES, plan.turns, strict=True) if t},
    )
    return plan


def _table_on_set_sheet(by: User, shown: TurnTable) -> TurnTable:
    """The same table on the sheet where the turns are noted.

    Raises WrongState where a sheet as set is there and says something else by now.
    """
    set_sheet = set_sheet_for(by, shown.on_sheet.sheet)
    if set_sheet.pk == shown.on_sheet.sheet.pk:
        return shown
    table = turn_table(_whole(locked_open(set_sheet)), by)
    if not table.ready or (table.loads, table.heights) != (shown.loads, shown.heights):
        raise WrongState("The car was changed since it was found. Plan on the sheet as set.")
    return table


def _whole(sheet: Sheet) -> Sheet:
    joined = ("car__chassis", "team__club", "baseline__chassis")
    return Sheet.objects.select_related(*joined).get(pk=sheet.pk)


def _predicted(table: TurnTable, turns: Sequence[Decimal]) -> Prediction:
    if len(turns) != len(CORNER_NAMES) or not any(turns):
        raise Invalid("turns", "A plan turns at least one corner.")
    if any(abs(turn) > MOST_TURNS for turn in turns):
        raise Invalid("turns", f"No seat is turned more than {MOST_TURNS} times.")
    try:
        what = predict_turns(table, Corners.of(float(turn) for turn in turns))
    except BadInput as refused:
        raise Invalid("turns", str(refused)) from refused
    if what.lifted:
        raise Invalid("turns", f"{' and '.join(what.lifted)} would come off the pad.")
    return what


def _plan(
    by: User,
    table: TurnTable,
    what: Prediction,
    turns: Sequence[Decimal],
    plan_id: UUID | None,
) -> Plan:
    sheet, loads, heights = table.on_sheet.sheet, what.loads_before, what.heights_before
    return Plan(
        pk=plan_id or new_id(),
        sheet=sheet,
        team_id=sheet.team_id,
        by=by,
        accepted_at=timezone.now(),
        turns=list(turns),
        started_from=table.started_from,
        geometry=table.on_sheet.geometry,
        learned=table.learned,
        loads_before=list(loads),
        heights_before=list(heights) if heights else None,
        loads=list(what.loads),
        u_loads=list(what.u_loads),
        heights=list(what.heights) if what.heights else None,
        u_heights=list(what.u_heights) if what.heights else None,
        cross_before=(loads.rf + loads.lr) / sum(loads),
        cross=what.cross,
        u_cross=what.u_cross,
    )


def _changes(plan: Plan) -> list[Change]:
    return [
        Change(
            sheet_id=plan.sheet_id,
            team_id=plan.team_id,
            adjuster=SPRING_SEAT,
            spot=corner,
            amount=turns,
            unit="turn",
            by=plan.by,
            made_at=plan.accepted_at,
        )
        for corner, turns in zip(CORNER_NAMES, plan.turns, strict=True)
        if turns
    ]


@action
def reset_calibration(
    *, by: User, car: Car, reason: str, reset_id: UUID | None = None
) -> CalibrationReset:
    """Learns the car anew from here on. What was observed stays, and is no longer used."""
    check_can_keep_car(by, car)
    reason = reason.strip()
    if not 0 < len(reason) <= LONGEST_REASON:
        raise Invalid("reason", "Say in a few words why: another frame, springs re-rated, ...")
    row = CalibrationReset.objects.create(
        pk=reset_id or new_id(), car=car, team_id=car.team_id, by=by, reason=reason
    )
    record(by=by, did="reset", on=car, team_id=car.team_id, reason=reason)
    return row
