"""What was changed at the track on a car that stands as a sheet says."""

from collections.abc import Iterable
from datetime import datetime

from cars.models import Car, Sheet, TrackChange
from cars.sheets.queries.sheets import versions_of


def set_sheet_now(car: Car) -> Sheet | None:
    """The newest version of the newest sheet as set of a car: what changes at the track rest on.

    Of the team that has the car: whoever is in the team that had it before sees its sheets too.
    """
    rows = Sheet.objects.current().filter(car=car, team=car.team_id, role=Sheet.Role.SET)
    # Found by its day alone: joined with what it shows, all sheets of the car would be sorted.
    newest = rows.order_by("-made_on", "-created_at").values_list("pk", flat=True).first()
    joined = ("car__chassis", "team__club", "baseline__chassis", "driver", "track")
    return Sheet.objects.filter(pk=newest).select_related(*joined).first() if newest else None


def track_changes_of(sheet: Sheet, *, until: datetime | None = None) -> list[TrackChange]:
    """Those made since the car stood as the sheet says, in order; none that was taken back.

    A correction of the sheet says better how the car stood; what was changed since stays.
    """
    rows = TrackChange.objects.current().filter(sheet__in=versions_of(sheet)).select_related("by")
    if until is not None:
        rows = rows.filter(made_at__lte=until)
    return list(rows.order_by("made_at", "id"))


def standing(changes: Iterable[TrackChange]) -> list[TrackChange]:
    """Without those that were put back, and without what put them back."""
    made = list(changes)
    undone = {change.puts_back_id for change in made if change.puts_back_id}
    return [change for change in made if change.pk not in undone and not change.puts_back_id]
