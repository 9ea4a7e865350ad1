"""What was changed on the car of a sheet."""

from datetime import datetime

from django.db.models import Q

from cars.models import Change, Sheet


def changes_of(sheet: Sheet, *, until: datetime | None = None) -> list[Change]:
    """The changes on this sheet and on the one it follows, whose readings it may have copied.

    `until`: those that stood then.
    """
    on = Q(sheet_id=sheet.pk)
    if sheet.based_on_id:
        on |= Q(sheet_id=sheet.based_on_id)
    rows = Change.objects.filter(on)
    if until is None:
        rows = rows.current()
    else:
        standing = Q(taken_back_at__isnull=True) | Q(taken_back_at__gt=until)
        rows = rows.filter(standing, made_at__lte=until)
    return list(rows.select_related("piece").order_by("made_at"))
