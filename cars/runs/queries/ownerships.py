"""Since when a team has a car that another team had before it."""

from datetime import date

from django.db import connection

from cars.models import Car
from teams.models import Team


def had_only_since(car: Car, team: Team, day: date) -> date | None:
    """The first day on which the team had it, where another team had it on this day; else None.

    What another team's row says is not the viewer's to read: a function tells of their own alone.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.had_only_since(%s, %s, %s)", [car.pk, team.pk, day])
        row = cursor.fetchone()
    since: date | None = row[0]
    return since
