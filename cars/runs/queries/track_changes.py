"""What was changed at the track on a car that stands as a sheet says."""

from datetime import datetime
from uuid import UUID

from django.db.models import Q
from django.utils import timezone

from cars.models import Car, Sheet
from cars.sheets.queries.at_track import standing, track_changes_of
from cars.sheets.queries.sheets import versions_of
from teams.models import Team

__all__ = ["set_sheet_at", "set_sheet_now", "standing", "track_changes_of"]


def set_sheet_now(car: Car) -> Sheet | None:
    """The newest version of the newest sheet as set of a car: what changes at the track rest on.

    Of the team that has the car: whoever is in the team that had it before sees its sheets too.
    """
    rows = Sheet.objects.current().filter(car=car, team=car.team_id, role=Sheet.Role.SET)
    # Found by its day alone: joined with what it shows, all sheets of the car would be sorted.
    newest = rows.order_by("-made_on", "-created_at").values_list("pk", flat=True).first()
    return _to_stand_on(newest) if newest else None


def set_sheet_at(car: Car, team: Team, when: datetime) -> Sheet | None:
    """As `set_sheet_now`, at a time that is past: of the sheets of the team that had the car then.

    A sheet counts from when it was opened; one typed in on a later day counts from its own day on.
    A correction says better how the car stood, and counts from when what it corrects was opened.
    """
    zone = team.club.zone()
    day = timezone.localdate(when, zone)
    rows = Sheet.objects.current().filter(car=car, team=team, role=Sheet.Role.SET)
    rows = rows.filter(Q(made_on__lte=day) | Q(created_at__lte=when) | Q(version__gt=1))
    for sheet in rows.order_by("-made_on", "-created_at").iterator(chunk_size=20):
        first = sheet
        if sheet.version > 1 and sheet.made_on >= day:
            first = Sheet.objects.only("created_at").get(pk=versions_of(sheet)[-1])
        opened = first.created_at
        typed_in_later = timezone.localdate(opened, zone) > day
        if sheet.made_on < day or opened <= when or (sheet.made_on == day and typed_in_later):
            return _to_stand_on(sheet.pk)
    return None


def _to_stand_on(sheet: UUID) -> Sheet | None:
    joined = ("car__chassis", "team__club", "baseline__chassis", "driver", "track")
    return Sheet.objects.filter(pk=sheet).select_related(*joined).first()
