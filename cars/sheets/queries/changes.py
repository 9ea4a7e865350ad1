"""What was changed on the car of a sheet."""

from django.db.models import Q

from cars.models import Change, Sheet


def changes_of(sheet: Sheet) -> list[Change]:
    """The changes on this sheet and on the one it follows, whose readings it may have copied."""
    on = Q(sheet_id=sheet.pk)
    if sheet.based_on_id:
        on |= Q(sheet_id=sheet.based_on_id)
    return list(Change.objects.current().filter(on).select_related("piece").order_by("made_at"))
