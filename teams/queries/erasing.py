"""What is kept of a driver, as their family reads it before it has it erased."""

from typing import NamedTuple

from django.db import connection

from clubsetup.site.counting import counted
from teams.models import Driver


class Held(NamedTuple):
    """How much of each; see access.held_of_driver."""

    birth_dates: int
    weights: int
    age_answers: int
    entries: int
    sheets: int
    prints: int


def held_of(driver: Driver) -> Held:
    """All nothing for whoever is no chief of the team."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.held_of_driver(%s)", [driver.pk])
        row = cursor.fetchone()
    return Held(*row) if row else Held(0, 0, 0, 0, 0, 0)


def what_goes(driver: Driver, held: Held) -> list[str]:
    """In sentences: what is erased for good."""
    name = driver.display_name
    return [
        f"The driver {name} in your team"
        + (", with the birth date" if held.birth_dates else "")
        + (f" and {_count(held.weights, 'line')} of the weight log" if held.weights else "")
        + ".",
        f"What officials were told of the age: {_count(held.age_answers, 'answer')}.",
        f"Who drove, on {_count(held.sheets, 'sheet')}: their figures stay, for the car.",
        f"The name {name} wherever your team wrote it in notes, remarks, reasons and names of "
        "cars: 'the driver' stands there instead, on closed sheets and in the trail too.",
        f"Stored prints that may show any of this: {_count(held.prints, 'print')}, whoever asked "
        "for them.",
    ]


def what_stays(driver: Driver, held: Held) -> list[str]:
    """In sentences: what stays, and why."""
    return [
        f"Official records: {_count(held.entries, 'entry', 'entries')} with number and the display "
        "name on them, and what officials weighed, looked at and found. They are the club's, and "
        "results rest on them.",
        "What is painted on ballast is its label here: change or retire a piece whose label says "
        f"{driver.display_name}.",
        "What is on paper, and in files that somebody took away.",
        "A line in your team's trail: that you erased a driver, and when; without the name.",
    ]


def _count(number: int, one: str, more: str = "") -> str:
    if number != 1 and more:
        return f"{number or 'no'} {more}"
    return counted(number, one) if number else f"no {one}s"
