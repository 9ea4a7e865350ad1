"""What an official may learn to enter a car that stands at the scales: see the SQL functions."""

from typing import NamedTuple
from uuid import UUID

from django.db import connection


class CarByNumber(NamedTuple):
    """A car of one of the club's teams, by the number somebody said."""

    car_id: UUID
    team_id: UUID
    team: str
    number: str


def cars_by_number(event_id: UUID, number: str) -> list[CarByNumber]:
    """Cars of that number of teams at home in the club holding the event; officials and stewards
    only, nothing for others or once the event is over."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.cars_by_number(%s, %s)", [event_id, number.strip()])
        return [CarByNumber(*row) for row in cursor.fetchall()]
