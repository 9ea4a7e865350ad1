"""Wall clocks of the tests: a club in a zone, and a moment that stands still."""

from datetime import datetime

import pytest
from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.clubs import set_club_time_zone
from teams.models import Club


def keep_time(by: User, club: Club, time_zone: str) -> None:
    """The steward chooses the zone."""
    by = User.objects.get(pk=by.pk)
    with viewing_as(by.pk):
        set_club_time_zone(by=by, club=club, time_zone=time_zone)


def stand_still(monkeypatch: pytest.MonkeyPatch, moment: datetime) -> None:
    """The framework's clock shows this moment."""
    monkeypatch.setattr(timezone, "now", lambda: moment)
