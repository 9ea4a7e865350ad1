"""A rule on where ballast may be, at the desk."""

import pytest
from django.test import Client

from tests.events.meeting import Meeting, make_meeting
from tests.events.test_ballast_checks import look
from tests.people import People


@pytest.fixture
def placed(people: People) -> Meeting:
    return make_meeting(people, [("ballast_place", {"places": "frame rail, seat back"})])


@pytest.mark.parametrize(
    ("place", "outcome"),
    [("left Frame  Rail", "meets"), ("nose", "fails"), ("", "not_checked")],
)
def test_the_place_noted_decides(placed: Meeting, place: str, outcome: str) -> None:
    look(placed, place=place)
    assert placed.outcomes()["ballast_place"] == outcome


def test_the_desk_names_the_places_beside_the_box(client: Client, placed: Meeting) -> None:
    client.force_login(placed.people.official)
    text = client.get(f"/entries/{placed.entry.pk}/ballast").content.decode()
    assert "Allowed: frame rail, seat back." in text


def test_the_family_is_told_what_to_do(client: Client, placed: Meeting) -> None:
    look(placed, place="nose")
    client.force_login(placed.people.chief)
    text = client.get(f"/entries/{placed.entry.pk}/").content.decode()
    assert "Move the piece to an allowed place" in text
