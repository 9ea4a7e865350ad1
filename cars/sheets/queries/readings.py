"""What was read on a sheet."""

from datetime import datetime

from django.db.models import Q

from cars.models import Reading, Sheet


def readings_of(sheet: Sheet, *, until: datetime | None = None) -> list[Reading]:
    """The readings that stand on a sheet, or those that stood then."""
    rows = Reading.objects.filter(sheet_id=sheet.pk)
    if until is None:
        return list(rows.current())
    standing = Q(replaced_at__isnull=True) | Q(replaced_at__gt=until)
    rows = rows.filter(standing, taken_at__lte=until)
    # Of a box read without a connection the old row stood until it came in: the newer one counts.
    boxes = {(row.measure_id, row.spot, row.take): row for row in rows.order_by("taken_at", "id")}
    for row in boxes.values():
        # As it was then, for whoever builds on what stands.
        row.replaced_at = row.replaced_by = None
    return list(boxes.values())
