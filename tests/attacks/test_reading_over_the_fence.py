"""Whoever from outside a team reads what is a child's leaves a line in the team's trail."""

from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import URLResolver, get_resolver, reverse
from django.urls.resolvers import RoutePattern

from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from clubsetup.urls import api
from teams.actions.drivers import log_driver_weight
from tests.events.meeting import Meeting, make_meeting, mass
from tests.guards.test_urls import named
from tests.guards.world import undone
from tests.people import People


@pytest.fixture
def meeting(people: People) -> Meeting:
    made = make_meeting(people)
    chief = people.chief
    with viewing_as(chief.pk):
        log_driver_weight(
            by=chief, driver=made.driver, weighed_on=date(2026, 5, 1), mass=mass("81 lb")
        )
        open_sheet(by=chief, car=made.car, role="found", surface="paved", driver=made.driver)
    return made


def lines(meeting: Meeting) -> list[tuple[object, object]]:
    with viewing_as(meeting.people.chief.pk):
        found = TrailLine.objects.filter(team_id=meeting.people.team.pk, did="read")
        return sorted(found.values_list("on_kind", "by__name"))


def addresses(meeting: Meeting) -> dict[str, list[str]]:
    """What may be read, by the kind of thing that the line names."""
    with viewing_as(meeting.people.chief.pk):
        sheet, weight = meeting.car.sheets.get(), meeting.driver.weights.get()
    return {
        "teams.driver": [
            reverse("driver", args=[meeting.driver.pk]),
            reverse("api-driver-detail", args=[meeting.driver.pk]),
        ],
        "teams.team": [
            reverse("team", args=[meeting.people.team.pk]),
            reverse("api-driver-list"),
            reverse("api-driver-weight-list"),
            "/api/v1/sheets",
        ],
        "teams.driverweight": [reverse("api-driver-weight-detail", args=[weight.pk])],
        "cars.sheet": [
            reverse("sheet", args=[sheet.pk]),
            reverse("bench-step", args=[sheet.pk, "tyres"]),
            f"/api/v1/sheets/{sheet.pk}",
            f"/api/v1/sheets/{sheet.pk}/boxes",
        ],
    }


def test_each_way_in_leaves_its_line_and_one_a_day(meeting: Meeting, client: Client) -> None:
    coach = meeting.people.coach
    client.force_login(coach)
    told: set[tuple[object, object]] = set()
    for kind, places in addresses(meeting).items():
        for place in places * 2:
            answer = client.get(place)
            assert answer.status_code == 200, place
        told.add((kind, coach.name))
        assert lines(meeting) == sorted(told), kind


def routes_below(start: str) -> list[str]:
    """Every address without a second argument below `start`, of pages and API alike."""
    below_api = named(URLResolver(RoutePattern(""), api), "/api/v1/")
    every = [*named(get_resolver(), "/"), *below_api]
    found = [route for _, route in every if route.startswith(start)]
    return [route for route in found if route.count("<") == 1]


@pytest.mark.parametrize(
    ("start", "kind"),
    [
        ("/sheets/<uuid:pk>/", "cars.sheet"),
        ("/cars/<uuid:pk>/", "cars.car"),
        ("/api/v1/sheets/<uuid:pk>/", "cars.sheet"),
        ("/api/v1/cars/<uuid:pk>/", "cars.car"),
    ],
)
def test_each_page_of_a_car_and_of_a_sheet_leaves_the_line_by_itself(
    meeting: Meeting, start: str, kind: str
) -> None:
    coach = meeting.people.coach
    with viewing_as(meeting.people.chief.pk):
        pk = {"cars.sheet": meeting.car.sheets.get().pk, "cars.car": meeting.car.pk}[kind]
    read = []
    for route in routes_below(start):
        with undone():
            client = Client()
            client.force_login(coach)
            place = route.replace("<uuid:pk>", str(pk))
            if client.get(place).status_code == 200:
                read.append(place)
                assert (kind, coach.name) in lines(meeting), place
    assert len(read) >= 4


def test_an_officials_reads_of_an_entry_leave_lines(meeting: Meeting, client: Client) -> None:
    official, entry = meeting.people.official, meeting.entry
    client.force_login(official)
    assert client.get("/api/v1/entries").status_code == 200
    client.get(reverse("desk", args=[meeting.event.pk]))
    assert lines(meeting) == []  # the start list is for everybody who takes part
    for place in (
        reverse("entry", args=[entry.pk]),
        reverse("entry-prints", args=[entry.pk]),
        f"/api/v1/entries/{entry.pk}",
    ):
        with undone():
            assert client.get(place).status_code == 200, place
            assert lines(meeting) == [("events.entry", official.name)], place
    for place in ("weigh-ins", "findings", "ballast-checks", "tech-readings"):
        with undone():
            meeting.weigh()
            assert client.get(f"/api/v1/{place}").status_code == 200, place
            expected = [("teams.team", official.name)] if place in ("weigh-ins", "findings") else []
            assert lines(meeting) == expected, place


@pytest.mark.parametrize("who", ["chief", "crew", "guest"])
def test_the_team_itself_leaves_none_and_asks_nothing_more(
    meeting: Meeting, client: Client, who: str
) -> None:
    client.force_login(getattr(meeting.people, who))
    with CaptureQueriesContext(connection) as queries:
        for places in addresses(meeting).values():
            for place in places:
                client.get(place)
    assert not [q for q in queries if "access.note_read" in q["sql"]]
    assert lines(meeting) == []


def test_who_is_refused_leaves_none(meeting: Meeting, client: Client) -> None:
    for who in ("rival", "stranger", "unlinked_coach", "steward", "official"):
        client.force_login(getattr(meeting.people, who))
        for places in addresses(meeting).values():
            for place in places:
                client.get(place)
    assert lines(meeting) == []


def test_the_trail_says_who_as_what_and_what(meeting: Meeting, client: Client) -> None:
    client.force_login(meeting.people.coach)
    client.get(reverse("driver", args=[meeting.driver.pk]))
    client.force_login(meeting.people.chief)
    page = client.get(reverse("team-trail", args=[meeting.people.team.pk])).content.decode()
    said = " ".join(page.split())
    assert "read what is kept of a driver</strong> <span>Robin</span>" in said
    assert '<span class="muted">coach</span>' in said
