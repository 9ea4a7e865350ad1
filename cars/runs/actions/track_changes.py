"""What the handler turns, moves or swaps between two runs; the sheet as set stays as it is."""

from collections.abc import Collection, Sequence
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from cars.catalogue.adjusters import ADJUSTERS, SPRING_SEAT
from cars.mechanics import CORNER_NAMES
from cars.models import Sheet, TrackChange
from cars.permissions import check_can_write_sheet
from cars.runs.actions.at_track import held_set_sheet, time_at_track
from cars.runs.queries.car_now import PRESSURE
from cars.runs.queries.track_changes import standing, track_changes_of
from cars.sheets.actions.changes import checked_amount
from cars.sheets.actions.closed_figures import keep_figures
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import units_of

# What is predicted is noted in these units, at a corner.
PREDICTED = {SPRING_SEAT: ["turn"], PRESSURE: list(units_of(Kind.PRESSURE))}


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
    sheet = held_set_sheet(sheet)
    # Another word would stand on the car's page and touch nothing that is known.
    if adjuster.strip() not in ADJUSTERS:
        raise Invalid("adjuster", f"Choose what was changed: {', '.join(ADJUSTERS)}.")
    amount = checked_amount(adjuster, spot, amount, unit)
    _check_predicted(adjuster.strip(), spot, unit)
    change = TrackChange.objects.create(
        pk=change_id or new_id(),
        sheet=sheet,
        team_id=sheet.team_id,
        adjuster=adjuster.strip(),
        spot=spot,
        amount=amount,
        unit=unit,
        by=by,
        made_at=time_at_track("made_at", made_at),
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
    sheet = held_set_sheet(sheet)
    made = {change.pk: change for change in standing(track_changes_of(sheet))}
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
    # The sheet may have been corrected since: the change is taken back all the same.
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


def _check_predicted(adjuster: str, spot: str, unit: str) -> None:
    """What the car's figures are worked out from is turned so much, at a corner."""
    units = PREDICTED.get(adjuster)
    if units is None:
        return
    if spot not in CORNER_NAMES:
        raise Invalid("spot", "Say at which corner: LF, RF, LR or RR.")
    if unit not in units:
        raise Invalid("unit", f"Write how much in one of these: {', '.join(units)}.")


def _keep_figures(sheet: Sheet) -> None:
    if sheet.state == Sheet.State.CLOSED:
        keep_figures(sheet.car_id)
