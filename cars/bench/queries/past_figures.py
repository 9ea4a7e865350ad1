"""What stood in the boxes of a step before: on this sheet, and on the ones of last time."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from cars.bench.queries.open_benches import readings_by_sheet
from cars.catalogue.keys import Key
from cars.figures.derived import Figure, add_derived, figures_of
from cars.models import Measure, Reading, Sheet
from clubsetup.access.models import User


@dataclass(frozen=True, slots=True)
class Repeats:
    """A box that was read more than once: canonical."""

    count: int
    mean: Decimal
    spread: Decimal


def repeats_of(rows: Sequence[Reading]) -> Repeats | None:
    """What the takes of one box come to; what was carried counts only where nothing was read."""
    read = [row for row in rows if row.carried_from_id is None] or rows
    values = [row.value for row in read if row.value is not None]
    if len(values) < 2:
        return None
    mean = sum(values, Decimal(0)) / len(values)
    return Repeats(len(values), mean, max(values) - min(values))


def replaced_last(sheet_id: UUID, step: str) -> dict[Key, Reading]:
    """The reading that stood before, by box, in its first take."""
    rows = (
        Reading.objects.filter(
            sheet_id=sheet_id, measure__step=step, take=1, replaced_at__isnull=False
        )
        .order_by("measure_id", "spot", "-replaced_at")
        .distinct("measure_id", "spot")
    )
    return {Key(row.measure_id, row.spot): row for row in rows}


def names_of(ids: set[UUID]) -> dict[UUID, str]:
    """The names of these people."""
    return {user.pk: str(user) for user in User.objects.filter(pk__in=ids)} if ids else {}


def last_sheets(sheet: Sheet) -> dict[str, Sheet]:
    """The newest closed found and set sheet of the car up to this one's day."""
    roles = (Sheet.Role.FOUND, Sheet.Role.SET)
    rows = (
        Sheet.objects.current()
        .select_related("track")
        .filter(
            car_id=sheet.car_id,
            role__in=roles,
            state=Sheet.State.CLOSED,
            made_on__lte=sheet.made_on,
            created_at__lt=sheet.created_at,
        )
        .exclude(corrected_by=sheet)
        .order_by("role", "-made_on", "-created_at")
        .distinct("role")
    )
    return {str(row.role): row for row in rows}


def past_figures(
    sheets: Sequence[Sheet], measures: Iterable[Measure]
) -> dict[UUID, dict[Key, Figure]]:
    """The figures of these measures by sheet, computed ones too. One query."""
    rows = readings_by_sheet(sheets, *(measure.pk for measure in measures))
    return {sheet_id: add_derived(figures_of(read)) for sheet_id, read in rows.items()}
