"""What a code offers, and the handovers of one's teams."""

import json
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection
from django.db.models import Q, QuerySet

from cars.models import Handover, Sheet
from clubsetup.access.digests import digest
from clubsetup.access.models import User
from teams.queries.roles import roles_of


class Offer(NamedTuple):
    """A car that whoever holds the code may take."""

    pk: UUID
    package: dict[str, Any]
    expires_at: datetime


def digest_of(code: str) -> str:
    """Of a code as it was typed: spaces, dashes and small letters are the same to it."""
    return digest("".join(code.upper().split()).replace("-", ""))


def offer_of(code: str) -> Offer | None:
    """None where the code is wrong, used, withdrawn or too old: which, nobody is told."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT id, package::text, expires_at FROM access.offered_handover(%s)",
            [digest_of(code)],
        )
        row = cursor.fetchone()
    if row is None:
        return None
    return Offer(row[0], json.loads(row[1]), row[2])


def handovers_of(by: User) -> QuerySet[Handover]:
    """Those that the teams a person is chief of gave or took."""
    teams = roles_of(by).chief_teams
    rows = Handover.objects.filter(Q(team__in=teams) | Q(to_team__in=teams))
    return rows.defer("package").select_related("car", "by")


def has_open_work(car_id: UUID, team_id: UUID) -> bool:
    """A sheet of the car is open still."""
    return Sheet.objects.filter(car=car_id, team=team_id, state=Sheet.State.OPEN).exists()
