"""The sheet as set after a sheet as found, and what is changed on it."""

from decimal import Decimal
from uuid import UUID

from cars.models import Change, Sheet, SheetTargetSource
from cars.permissions import check_can_write_sheet
from cars.sheets.actions.changes import write_change
from cars.sheets.actions.readings import locked_open
from cars.sheets.actions.sheets import open_sheet
from cars.sheets.queries.sheets import set_sheet_of
from clubsetup.access.actions import action
from clubsetup.access.errors import WrongState
from clubsetup.access.models import User


@action
def open_set_sheet(*, by: User, sheet: Sheet, sheet_id: UUID | None = None) -> Sheet:
    """The left sheet after a closed found sheet: its figures, its head and its target.

    What is then changed and read again replaces the copies; what is not touched is as it was
    found. Raises WrongState where there is nothing to follow, or where it is followed already.
    """
    check_can_write_sheet(by, sheet)
    # Held, so that two people who follow it at once make one.
    Sheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    if sheet.role != Sheet.Role.FOUND or sheet.state != Sheet.State.CLOSED:
        raise WrongState("Close the sheet as found first. The sheet as set follows it.")
    if Sheet.objects.filter(corrects=sheet).exists():
        raise WrongState(f"Version {sheet.version + 1} corrects this sheet. Go on from that one.")
    if set_sheet_of(sheet) is not None:
        raise WrongState("The sheet as set is opened already. Go on with that one.")
    return _open_after(by, sheet, sheet_id)


@action
def note_change(
    *,
    by: User,
    sheet: Sheet,
    adjuster: str,
    spot: str,
    amount: Decimal,
    unit: str,
    change_id: UUID | None = None,
) -> Change:
    """Something turned, moved or swapped: `spring-seat` LF +1/2 turn.

    On a car as found it is noted on the sheet as set, opened where there is none yet; the change
    says on which sheet it stands.
    """
    check_can_write_sheet(by, sheet)
    return write_change(
        by,
        locked_set_sheet(by, sheet),
        adjuster=adjuster,
        spot=spot,
        amount=amount,
        unit=unit,
        change_id=change_id,
    )


def locked_set_sheet(by: User, sheet: Sheet) -> Sheet:
    """Where what is turned on an open sheet belongs, open and held. Within the action that turns.

    Raises WrongState where either sheet is closed.
    """
    locked = locked_open(sheet)
    set_sheet = set_sheet_for(by, locked)
    return locked if set_sheet.pk == locked.pk else locked_open(set_sheet)


def set_sheet_for(by: User, sheet: Sheet) -> Sheet:
    """Where what is turned now belongs: the set sheet after a found one, else the sheet.

    The set sheet is opened with the figures as found where there is none yet, so that those
    stay what they were before anything was touched. Within the action that turns.
    """
    if sheet.role != Sheet.Role.FOUND:
        return sheet
    return set_sheet_of(sheet) or _open_after(by, sheet, None)


def _open_after(by: User, sheet: Sheet, sheet_id: UUID | None) -> Sheet:
    set_sheet = open_sheet(
        by=by,
        car=sheet.car,
        role=Sheet.Role.SET,
        based_on=sheet,
        with_readings=True,
        sheet_id=sheet_id,
    )
    before = SheetTargetSource.objects.select_related("target").filter(sheet=sheet).first()
    if before is not None:
        set_target_source(set_sheet, before.target, own=before.target is None)
    return set_sheet


def set_target_source(sheet: Sheet, target: Sheet | None, *, own: bool) -> None:
    """Where a sheet's targets come from besides the baseline. Within the action that opens it."""
    if target is not None or own:
        row = SheetTargetSource(sheet=sheet, team_id=sheet.team_id, target=target)
        row.save(force_insert=True)
