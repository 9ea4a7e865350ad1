"""What was changed at the track on a car that stands as a sheet says."""

from cars.models import Car, Sheet
from cars.sheets.queries.at_track import standing, track_changes_of

__all__ = ["set_sheet_now", "standing", "track_changes_of"]


def set_sheet_now(car: Car) -> Sheet | None:
    """The newest version of the newest sheet as set of a car: what changes at the track rest on.

    Of the team that has the car: whoever is in the team that had it before sees its sheets too.
    """
    rows = Sheet.objects.current().filter(car=car, team=car.team_id, role=Sheet.Role.SET)
    # Found by its day alone: joined with what it shows, all sheets of the car would be sorted.
    newest = rows.order_by("-made_on", "-created_at").values_list("pk", flat=True).first()
    joined = ("car__chassis", "team__club", "baseline__chassis", "driver", "track")
    return Sheet.objects.filter(pk=newest).select_related(*joined).first() if newest else None
