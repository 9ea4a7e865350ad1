"""What every write at the track asks first: which sheet it rests on, and when it was."""

from datetime import datetime, timedelta

from django.utils import timezone

from cars.models import Car, Sheet
from cars.runs.queries.track_changes import set_sheet_now
from clubsetup.access.errors import Invalid, WrongState

# A clock on a phone may be that far ahead.
AHEAD = timedelta(minutes=10)


NO_SET_SHEET = "Changes at the track rest on a sheet as set. Open one first."


def set_sheet_of(car: Car) -> Sheet:
    """The sheet that the car stands on. Raises WrongState where there is none."""
    sheet = set_sheet_now(car)
    if sheet is None:
        raise WrongState(NO_SET_SHEET)
    return sheet


def held_set_sheet(sheet: Sheet) -> Sheet:
    """The sheet, held. Raises WrongState for one that the car cannot stand on."""
    sheet = Sheet.objects.select_for_update(of=("self",), no_key=True).get(pk=sheet.pk)
    if sheet.role != Sheet.Role.SET:
        raise WrongState(NO_SET_SHEET)
    if Sheet.objects.filter(corrects=sheet).exists():
        raise WrongState(f"Version {sheet.version + 1} corrects this sheet. Go on from that one.")
    return sheet


def time_at_track(field: str, given: datetime | None) -> datetime:
    """When it was: now, unless it was written down before. Raises Invalid for a time to come."""
    now = timezone.now()
    if given is not None and given > now + AHEAD:
        raise Invalid(field, "This is still to come. Write when it was.")
    return given or now
