"""Lists of a club's people and teams, and of a driver's weights, come page by page."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from teams.actions.drivers import log_driver_weight
from teams.actions.teams import make_team
from teams.pages import clubs, drivers
from teams.pages import people as people_pages
from tests.people import People, join, person
from tests.teams.conftest import Things, fresh
from tests.walking_pages import all_pages

SignedIn = Callable[[str], Client]


def test_weights_by_day(
    people: People, things: Things, signed_in: SignedIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One logged later for an earlier day stands where its day does."""
    chief, first = people.chief, date(2026, 5, 1)
    with viewing_as(chief.pk):
        for days, pounds in ((3, 61), (1, 62), (2, 63)):
            day, mass = first + timedelta(days), parse(f"{pounds} lb", Kind.MASS)
            log_driver_weight(by=chief, driver=things.driver, weighed_on=day, mass=mass)
    monkeypatch.setattr(drivers, "A_PAGE", 2)
    path = reverse("driver", args=[things.driver.pk])
    pages = all_pages(signed_in("crew"), path, r">(6[123]) lb<")
    assert [pounds for page in pages for pounds in page] == ["61", "63", "62"]
    assert len(pages) == 2


def test_teams_and_members_of_a_club_each_go_on_by_themselves(
    people: People, signed_in: SignedIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    steward = fresh(people.steward)
    for number in range(3):
        join(steward, person(f"Zoe {number}"), people.club, "coach")
        with viewing_as(steward.pk):
            make_team(by=steward, club=people.club, name=f"Zebras {number}")
    monkeypatch.setattr(clubs, "A_PAGE", 2)
    client, path = signed_in("steward"), reverse("club", args=[people.club.pk])
    teams = all_pages(client, path, r">(Zebras \d)</a>", "teams")
    assert [name for page in teams for name in page] == ["Zebras 0", "Zebras 1", "Zebras 2"]
    members = all_pages(client, path, r"(Zoe \d)", "members")
    assert [name for page in members for name in page] == ["Zoe 0", "Zoe 1", "Zoe 2"]
    second = client.get(path, {"teams": str(people.team.pk)}).content.decode()
    assert "?members=" in second, "the other list is at its first page"


def test_everybody_who_is_or_was_in_a_club(
    people: People, signed_in: SignedIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, path = signed_in("steward"), reverse("club-people", args=[people.club.pk])
    row = r'aria-label="End all sign-ins and tokens of ([^"]+)"'
    (whole,) = all_pages(client, path, row)
    monkeypatch.setattr(people_pages, "A_PAGE", 2)
    pages = all_pages(client, path, row)
    assert [name for page in pages for name in page] == whole
    assert whole == sorted(whole, key=str.lower)
    assert len(pages) > 2
