"""What is said beside the readings of a sheet."""

from uuid import UUID

from cars.models import Comment, Sheet
from cars.permissions import check_can_comment_on
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User

LONGEST_COMMENT = 2000


@action
def add_comment(*, by: User, sheet: Sheet, text: str, comment_id: UUID | None = None) -> Comment:
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
