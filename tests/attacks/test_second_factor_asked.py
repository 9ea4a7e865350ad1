"""Being a steward or official without the second factor that the club asks for."""

import pytest
from allauth.mfa.models import Authenticator
from django.db import connection
from django.test import Client
from django.urls import reverse

from clubsetup.access.errors import Invalid, NotAllowed
from clubsetup.access.second_factor import has_second_factor
from clubsetup.access.viewer import viewing_as
from teams.actions.clubs import set_club_second_factor, set_club_units
from teams.models import Club, Track
from teams.queries.roles import forget_roles, roles_of
from tests.attacks.accounts import signed_in, totp_of
from tests.people import People

pytestmark = pytest.mark.django_db


@pytest.fixture
def asking(people: People) -> People:
    """Fernbank asks; its steward has one, its official has none."""
    browser = signed_in(people.steward)
    totp_of(people.steward)
    path = reverse("club-second-factor", args=[people.club.pk])
    assert browser.post(path, {"asked": "on"}).status_code == 302
    people.club.refresh_from_db()
    return people


class TestWithout:
    def test_the_database_gives_an_official_no_rights(self, asking: People) -> None:
        with viewing_as(asking.official.pk), connection.cursor() as cursor:
            cursor.execute("SELECT access.official_clubs(), access.withheld_clubs()")
            assert cursor.fetchone() == ([], [asking.club.pk])
        totp_of(asking.official)
        with viewing_as(asking.official.pk), connection.cursor() as cursor:
            cursor.execute("SELECT access.official_clubs(), access.withheld_clubs()")
            assert cursor.fetchone() == ([asking.club.pk], [])

    def test_the_start_page_asks_first_and_lets_go_on(self, asking: People) -> None:
        browser = signed_in_with_nothing(asking)
        asked = browser.get("/", follow=True).content.decode()
        assert "Set up a second factor" in asked
        assert "Fernbank Oval Club asks" in asked
        assert browser.post(reverse("second-factor"), follow=True).status_code == 200
        assert browser.get("/").status_code == 200

    def test_a_refusal_says_why(self, asking: People) -> None:
        second = asking.official
        forget_roles(second)
        with viewing_as(second.pk), pytest.raises(NotAllowed, match="asks its stewards"):
            set_club_units(by=second, club=asking.club, units={})

    def test_a_steward_who_takes_theirs_away_is_none_until_it_is_back(self, asking: People) -> None:
        with viewing_as(asking.steward.pk):
            Authenticator.objects.filter(user=asking.steward).delete()
            forget_roles(asking.steward)
            assert not roles_of(asking.steward).is_steward(asking.club.pk)
            assert not Club.objects.filter(pk=asking.club.pk).update(preferred_units={})
        with pytest.raises(Exception, match="row-level"), viewing_as(asking.steward.pk):
            Track.objects.create(club=asking.club, name="x", surface="paved")
        # Nobody is locked out for good: anybody sets up a factor of their own.
        totp_of(asking.steward)
        forget_roles(asking.steward)
        with viewing_as(asking.steward.pk):
            assert has_second_factor(asking.steward)
            assert roles_of(asking.steward).is_steward(asking.club.pk)

    def test_coaches_teams_and_other_clubs_are_not_touched(self, asking: People) -> None:
        for who in (asking.coach, asking.chief, asking.other_official):
            with viewing_as(who.pk):
                forget_roles(who)
                assert not roles_of(who).resting


def test_who_has_none_cannot_ask_for_one(people: People) -> None:
    with viewing_as(people.steward.pk), pytest.raises(Invalid, match="for yourself first"):
        set_club_second_factor(by=people.steward, club=people.club, asked=True)


def signed_in_with_nothing(people: People) -> Client:
    """The official's browser."""
    client = Client()
    client.force_login(people.official)
    return client


def test_through_the_api_as_on_the_page(people: People) -> None:
    path = f"/api/v1/clubs/{people.club.pk}"
    browser, official = signed_in(people.steward), signed_in(people.official)
    refused = browser.patch(path, {"asks_second_factor": True}, "application/json")
    assert refused.status_code == 400
    assert "second factor for yourself first" in refused.content.decode()
    totp_of(people.steward)
    done = browser.patch(path, {"asks_second_factor": True}, "application/json")
    assert done.json()["asks_second_factor"] is True
    undone = official.patch(path, {"asks_second_factor": False}, "application/json")
    assert undone.status_code == 403
