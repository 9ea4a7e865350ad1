"""What is written beside the readings of a sheet: changes made, and comments."""

from decimal import Decimal
from uuid import UUID

from cars.actions.readings import locked_open
from cars.actions.settled import settled_said
from cars.may import check_can_comment_on, check_can_write_sheet
from cars.models import Change, Comment, Sheet
from cars.models.catalogue import Spot
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User

LONGEST_COMMENT = 2000


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
    """Something turned, moved or swapped: `spring-seat` LF +1/2 turn."""
    check_can_write_sheet(by, sheet)
    sheet = locked_open(sheet)
    if not adjuster.strip():
        raise Invalid("adjuster", "Say what was changed.")
    if spot not in Spot.values:
        raise Invalid("spot", "Say where on the car.")
    if not amount:
        raise Invalid("amount", "A change of nothing is no change.")
    with settled_said():
        change = Change.objects.create(
            pk=change_id or new_id(),
            sheet=sheet,
            team_id=sheet.team_id,
            adjuster=adjuster.strip(),
            spot=spot,
            amount=amount,
            unit=unit,
            by=by,
        )
    record(
        by=by,
        did="changed",
        on=sheet,
        team_id=sheet.team_id,
        adjuster=adjuster,
        spot=spot,
        amount=str(amount),
        unit=unit,
    )
    return change


@action
def comment(*, by: User, sheet: Sheet, text: str, comment_id: UUID | None = None) -> Comment:
    """A remark on a sheet, open or closed, by the crew or a linked coach."""
    check_can_comment_on(by, sheet)
    text = text.strip()
    if not 0 < len(text) <= LONGEST_COMMENT:
        raise Invalid("text", f"Write a comment of at most {LONGEST_COMMENT} letters.")
    row = Comment.objects.create(
        pk=comment_id or new_id(), sheet=sheet, team_id=sheet.team_id, by=by, text=text
    )
    record(by=by, did="commented", on=sheet, team_id=sheet.team_id, comment=str(row.pk))
    return row
