"""A weighed car as a page carries it for 'what if', sealed, so that a slider asks no database.

It holds only what the page shows anyway, is sealed for one person, and ends after an evening.
"""

from dataclasses import dataclass
from uuid import UUID

from django.core import signing

from cars.mechanics.linear_response import LinearResponse
from cars.plans.presenters.display_context import PlanDisplayContext, plan_display_context
from cars.plans.queries.turns import TurnTable
from clubsetup.access.models import User

AN_EVENING = 12 * 3600  # seconds


@dataclass(frozen=True, slots=True)
class SignedWhatIf:
    """What came back with a slider."""

    sheet: UUID
    seen: str
    editable: bool
    linear: LinearResponse
    frame: PlanDisplayContext


def _salt(user: User) -> str:
    # The number is that of what is sealed: a page of before is asked to be loaded again.
    return f"what-if 2:{user.pk}"


def sign(table: TurnTable, user: User, *, editable: bool) -> str:
    """The car of a table that is ready, for this person; empty for one that is not."""
    if table.linear is None:
        return ""
    frame = plan_display_context(table).plain
    what = [str(table.on_sheet.sheet.pk), table.seen, editable, table.linear.plain, frame]
    return signing.dumps(what, salt=_salt(user), compress=True)


def read_signed(text: str, user: User) -> SignedWhatIf | None:
    """What was sealed for this person; None where it was not, or is over."""
    try:
        state = signing.loads(text, salt=_salt(user), max_age=AN_EVENING)
    except signing.BadSignature:
        return None
    sheet, seen, editable, linear, frame = state
    return SignedWhatIf(
        UUID(sheet),
        seen,
        editable,
        LinearResponse.of_plain(linear),
        PlanDisplayContext.of_plain(frame),
    )
