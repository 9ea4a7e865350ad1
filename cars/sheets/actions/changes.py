"""Something turned, moved or swapped, written on the sheet it belongs to."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from cars.constraint_messages import constraint_messages
from cars.models import Change, Sheet
from cars.models.catalogue import Spot
from clubsetup.access.actions import record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities import bounds
from clubsetup.quantities.spelling import has_unit

PLACES = 4  # of an amount, as it is kept


def checked_amount(adjuster: str, spot: str, amount: Decimal, unit: str) -> Decimal:
    """The amount of a change as it is kept. Raises Invalid for what is no change."""
    if not adjuster.strip():
        raise Invalid("adjuster", "Say what was changed.")
    if spot not in Spot.values:
        raise Invalid("spot", "Say where on the car.")
    amount = round(amount, PLACES)
    if not amount:
        raise Invalid("amount", "A change of nothing is no change.")
    most = bounds.MOST_CHANGED.get(unit)
    if most is not None and abs(amount) > most:
        text = f"{amount.normalize():f}"
        raise Invalid("amount", f"{text} cannot be right: nothing is changed by more than {most}.")
    return amount


def write_change(
    by: User,
    sheet: Sheet,
    *,
    adjuster: str,
    spot: str,
    amount: Decimal,
    unit: str,
    change_id: UUID | None = None,
    **more: Any,
) -> Change:
    """A change on this very sheet, held open by the action that this is part of.

    `more`: when it was made, and of ballast the piece with the mount it was at and is at now.
    """
    amount = checked_amount(adjuster, spot, amount, unit)
    with constraint_messages():
        change = Change.objects.create(
            pk=change_id or new_id(),
            sheet=sheet,
            team_id=sheet.team_id,
            adjuster=adjuster.strip(),
            spot=spot,
            amount=amount,
            unit=unit,
            by=by,
            **more,
        )
    marked = change.piece.marked_mass_typed if change.piece else ""
    record(
        by=by,
        did="changed",
        on=sheet,
        team_id=sheet.team_id,
        adjuster=adjuster,
        spot=spot,
        amount=str(amount),
        unit=unit,
        typed=marked if has_unit(marked) else "",
    )
    return change
