"""What the handler turns, moves or swaps between two runs; the sheet as set stays as it is."""

from collections.abc import Collection, Sequence
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from cars.models import Sheet, TrackChange
from cars.permissions import check_can_write_sheet
from cars.runs.queries.track_changes import standing, track_changes_of
from cars.sheets.actions.changes import checked_amount
from cars.sheets.actions.closed_figures import keep_figures
from clubsetup.access.actions import action, record
from clubsetup.access.errors import WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User


@action
def note_track_change(
    *,
    by: User,
    sheet: Sheet,
    adjuster: str,
    spot: str,
    amount: Decimal,
    unit: str,
    made_at: datetime | None = None,
    change_id: UUID | None = None,
) -> TrackChange:
    """Something turned, moved or swapped on a car that stood as `sheet`, as set, says."""
    check_can_write_sheet(by, sheet)
    sheet = _held(sheet)
    change = TrackChange.objects.create(
        pk=change_id or new_id(),
        sheet=sheet,
        team_id=sheet.team_id,
        adjuster=adjuster.strip(),
        spot=spot,
        amount=checked_amount(adjuster, spot, amount, unit),
        unit=unit,
        by=by,
        made_at=made_at or timezone.now(),
    )
    _keep_figures(sheet)
    record(
        by=by,
        did="changed_at_track",
        on=sheet,
        team_id=sheet.team_id,
        adjuster=adjuster,
        spot=spot,
        amount=str(change.amount),
        unit=unit,
    )
    return change


@action
def put_back(
    *, by: User, sheet: Sheet, changes: Collection[UUID] | None = None
) -> Sequence[TrackChange]:
    """Turns these changes back the other way, or all that stand; what was made stays noted.

    Raises WrongState where one of them does not stand: two who put it back at once turn it once.
    """
    check_can_write_sheet(by, sheet)
    sheet = _held(sheet)
    made = {change.pk: change for change in standing(track_changes_of(sheet.pk))}
    chosen = set(made) if changes is None else set(changes)
    if not chosen or not chosen <= made.keys():
        raise WrongState("What was to be put back is put back already. Look at the car as it is.")
    now = timezone.now()
    back = [
        TrackChange(
            sheet=sheet,
            team_id=sheet.team_id,
            adjuster=change.adjuster,
            spot=change.spot,
            amount=-change.amount,
            unit=change.unit,
            by=by,
            made_at=now,
            puts_back=change,
        )
        for change in reversed(made.values())
        if change.pk in chosen
    ]
    TrackChange.objects.bulk_create(back)
    _keep_figures(sheet)
    record(
        by=by,
        did="put_back",
        on=sheet,
        team_id=sheet.team_id,
        changes=[str(change.puts_back_id) for change in back],
    )
    return back


@action
def take_back_track_change(*, by: User, change: TrackChange) -> TrackChange:
    """It was never made: a slip of the thumb. Raises WrongState where a later one puts it back."""
    check_can_write_sheet(by, change.sheet)
    _held(change.sheet)
    change = TrackChange.objects.select_for_update(of=("self",)).get(pk=change.pk)
    if change.taken_back_at is not None:
        raise WrongState("It is taken back already.")
    if TrackChange.objects.current().filter(puts_back=change).exists():
        raise WrongState("It was put back since: take that back first.")
    change.taken_back_at, change.taken_back_by = timezone.now(), by
    change.save(update_fields=["taken_back_at", "taken_back_by"])
    _keep_figures(change.sheet)
    record(
        by=by,
        did="took_back",
        on=change.sheet,
        team_id=change.team_id,
        change=str(change.pk),
        adjuster=change.adjuster,
        spot=change.spot,
    )
    return change


def _held(sheet: Sheet) -> Sheet:
    """The sheet, held. Raises WrongState for one that the car cannot stand on."""
    sheet = Sheet.objects.select_for_update(of=("self",), no_key=True).get(pk=sheet.pk)
    if sheet.role != Sheet.Role.SET:
        raise WrongState("Changes at the track rest on a sheet as set. Open one first.")
    if Sheet.objects.filter(corrects=sheet).exists():
        raise WrongState(f"Version {sheet.version + 1} corrects this sheet. Go on from that one.")
    return sheet


def _keep_figures(sheet: Sheet) -> None:
    if sheet.state == Sheet.State.CLOSED:
        keep_figures(sheet.car_id)
