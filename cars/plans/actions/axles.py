"""Accepting what was worked out for rods and block marks as done."""

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple
from uuid import UUID

from django.utils import timezone

from cars.catalogue.adjusters import BLOCK, MARKS_SET
from cars.catalogue.keys import Key
from cars.constraint_messages import constraint_messages
from cars.figures.box_entries import read_entry
from cars.lookups import find_sheet
from cars.models import Change, Sheet
from cars.permissions import check_can_write_sheet
from cars.plans.queries import block_marks, rods
from cars.plans.queries.sheet_figures import SheetFigures, sheet_figures
from cars.sheets.actions.conflicts import OVER_ANYTHING, Unseen
from cars.sheets.actions.readings import locked_open, take_readings
from cars.sheets.actions.set_sheet import set_sheet_for
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.models import User

MOST_TURNS = 20
MOST_BLOCKS, LONGEST_MARK = 4, 8
OTHER = "A reading has changed since this was worked out. Look at it again."
MOVED_ON = "The car was changed since it was found. Work it out on the sheet as set."


class RodTurn(NamedTuple):
    """One rod of one end of the rear axle; plus lengthens."""

    side: str
    rod: str
    turns: Decimal


@action
def accept_rods(
    *, by: User, sheet: Sheet, turns: Sequence[RodTurn], seen: str | Unseen
) -> list[Change]:
    """Notes the turns made at the rear radius rods: bar, rotation and what follows are asked again.

    `seen` is the mark of the readings that the person looked at, and where they have changed since
    nothing is noted; nor is it twice, since after the first time they must be taken again. What is
    turned on a car as found is noted on the sheet as set. It is taken back as a turn at a seat
    is: by noting the turns the other way.
    """
    check_can_write_sheet(by, sheet)
    on_sheet = _open(by, sheet)
    if missing := rods.lacking(on_sheet):
        raise WrongState(missing)
    if not isinstance(seen, Unseen) and seen != rods.seen(on_sheet):
        raise WrongState(OTHER)
    _check_turns(turns)
    set_sheet = _on_set_sheet(by, on_sheet)
    if rods.read_for(set_sheet) != rods.read_for(on_sheet):
        raise WrongState(MOVED_ON)
    made = [
        _change(by, set_sheet.sheet, f"rear-rod-{one.rod}", one.side, one.turns, "turn")
        for one in turns
    ]
    written = [f"{one.side} {one.rod} {one.turns:+f}" for one in turns]
    _keep(made)
    record(
        by=by,
        did="turned rods",
        on=set_sheet.sheet,
        team_id=set_sheet.sheet.team_id,
        turns=", ".join(written),
    )
    return made


def _check_turns(turns: Sequence[RodTurn]) -> None:
    if not turns or any(not one.turns for one in turns):
        raise Invalid("turns", "Say which rods were turned, and by how much.")
    if any(one.side not in rods.SIDES or one.rod not in rods.RODS for one in turns):
        raise Invalid("turns", "A rod is upper or lower, on the left or on the right.")
    if len({one[:2] for one in turns}) < len(turns):
        raise Invalid("turns", "One rod was given twice.")
    if any(abs(one.turns) > MOST_TURNS for one in turns):
        raise Invalid("turns", f"No rod is turned more than {MOST_TURNS} times.")


@action
def accept_marks(
    *,
    by: User,
    sheet: Sheet,
    side: str,
    marks: Sequence[str],
    seen: str | Unseen,
    change_id: UUID | None = None,
) -> Change:
    """Notes a side's blocks as set to these marks; camber, caster and what follows are asked again.

    The marks are what the person set, and stand on the sheet as the marks read. Refused where the
    blocks are noted at them already, and where a reading of that side has changed since `seen`.
    """
    check_can_write_sheet(by, sheet)
    on_sheet = _open(by, sheet)
    if side not in block_marks.SIDES:
        raise Invalid("side", "Choose left or right.")
    wanted = _checked_marks(marks)
    if not isinstance(seen, Unseen) and seen != block_marks.seen(on_sheet, side):
        raise WrongState(OTHER)
    set_sheet = _on_set_sheet(by, on_sheet)
    if set_sheet.value("camber", side) != on_sheet.value("camber", side):
        raise WrongState(MOVED_ON)
    written = " / ".join(wanted)
    if block_marks.standing_marks(set_sheet, side) == wanted:
        raise WrongState(f"The blocks on the {side} are at {written} already. Read the gauge.")
    change = _change(by, set_sheet.sheet, BLOCK, side, Decimal(1), MARKS_SET)
    change.pk = change_id or change.pk
    _keep([change])
    record(
        by=by,
        did="set marks",
        on=set_sheet.sheet,
        team_id=set_sheet.sheet.team_id,
        side=side,
        marks=written,
    )
    entry = read_entry(
        set_sheet.known.measures[block_marks.MARKS],
        Key(block_marks.MARKS, side),
        written,
        set_sheet.units,
    )
    # What was read of the marks before they were set is no matter: `seen` was of the angles.
    take_readings(by=by, sheet=set_sheet.sheet, entries=[entry], seen=OVER_ANYTHING, anew=True)
    return change


def _checked_marks(marks: Sequence[str]) -> tuple[str, ...]:
    checked = block_marks.marks_of(" / ".join(marks))
    if not 0 < len(checked) <= MOST_BLOCKS or any(len(mark) > LONGEST_MARK for mark in checked):
        raise Invalid("marks", "Say the mark of each block, as in 2 / 1.")
    return checked


def _open(by: User, sheet: Sheet) -> SheetFigures:
    """The sheet as it is now, held, with its figures."""
    held = locked_open(sheet)
    return sheet_figures(find_sheet(held.pk) or held, by)


def _on_set_sheet(by: User, on_sheet: SheetFigures) -> SheetFigures:
    """Where what is turned belongs, held: the sheet as set after a found one."""
    set_sheet = set_sheet_for(by, on_sheet.sheet)
    return on_sheet if set_sheet.pk == on_sheet.sheet.pk else _open(by, set_sheet)


def _change(  # noqa: PLR0917 (what a change says)
    by: User, sheet: Sheet, adjuster: str, spot: str, amount: Decimal, unit: str
) -> Change:
    return Change(
        sheet=sheet,
        team_id=sheet.team_id,
        adjuster=adjuster,
        spot=spot,
        amount=amount,
        unit=unit,
        by=by,
        made_at=timezone.now(),
    )


def _keep(changes: list[Change]) -> None:
    with constraint_messages():
        Change.objects.bulk_create(changes)
