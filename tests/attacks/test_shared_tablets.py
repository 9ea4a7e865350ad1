"""What the next person at a tablet, or a proxy on the way, finds of the one before."""

from datetime import datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clubsetup.access.idle_sessions import LONGEST
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.clubs import set_club_idle_minutes
from tests.people import People

pytestmark = pytest.mark.django_db
LOGIN = "/accounts/login/"
PASSWORD = "correct horse 9"


def sign_in(who: User) -> Client:
    client = Client()
    assert client.post(LOGIN, {"login": who.email, "password": PASSWORD}).status_code == 302
    return client


class TestNothingPersonalIsStored:
    @pytest.mark.parametrize("page", ["/", "/me/", "/cars/", "/events/", "/prints/", "/api/v1/me"])
    def test_on_the_way_or_in_the_browser(self, people: People, page: str) -> None:
        answer = sign_in(people.chief).get(page)
        assert answer.status_code == 200
        assert "no-store" in answer["Cache-Control"]

    def test_of_the_sign_in_page_refusals_and_lost_addresses(self, client: Client) -> None:
        for page in (LOGIN, "/nowhere", "/api/v1/me", "/cars/"):
            assert "no-store" in client.get(page)["Cache-Control"], page


def test_pages_may_use_camera_wake_lock_and_passkeys_and_nothing_else(client: Client) -> None:
    policy = dict(
        part.strip().split("=") for part in client.get(LOGIN)["Permissions-Policy"].split(",")
    )
    own = {name for name, allowed in policy.items() if allowed == "(self)"}
    assert own == {"camera", "screen-wake-lock", "publickey-credentials-get"}
    assert {allowed for name, allowed in policy.items() if name not in own} == {"()"}


def test_sign_out_clears_cache_and_cookies_and_never_what_waits(people: People) -> None:
    answer = sign_in(people.official).post("/accounts/logout/")
    assert answer["Clear-Site-Data"] == '"cache", "cookies"'
    assert "Clear-Site-Data" not in Client().get(LOGIN)


class TestATabletThatLiesAbout:
    @pytest.fixture
    def now(self, monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
        """The time, for the test to move."""
        moment = [timezone.now()]
        monkeypatch.setattr("clubsetup.access.idle_sessions.timezone.now", lambda: moment[0])
        return moment

    def rest(self, people: People, minutes: int | None) -> None:
        with viewing_as(people.steward.pk):
            set_club_idle_minutes(by=people.steward, club=people.club, minutes=minutes)

    def test_signs_its_official_out(self, people: People, now: list[datetime]) -> None:
        self.rest(people, 15)
        tablet = sign_in(people.official)
        for _ in range(3):  # while it is used it stays
            now[0] += timedelta(minutes=14)
            assert tablet.get("/events/").status_code == 200
        now[0] += timedelta(minutes=16)
        answer = tablet.get("/events/")
        assert answer["Location"] == f"{LOGIN}?next=/events/"
        assert "Clear-Site-Data" not in answer
        assert "rest for 15 minutes" in tablet.get(LOGIN).content.decode()

    def test_refuses_the_api_as_well(self, people: People, now: list[datetime]) -> None:
        self.rest(people, 15)
        tablet = sign_in(people.official)
        tablet.get("/events/")
        now[0] += timedelta(minutes=16)
        assert tablet.get("/api/v1/me").status_code == 401

    def test_by_the_clubs_choice_alone(self, people: People, now: list[datetime]) -> None:
        tablet, phone = sign_in(people.official), sign_in(people.chief)
        self.rest(people, 15)
        for device in (tablet, phone):  # it holds from the next sign-in, and for officials
            device.get("/")
        now[0] += timedelta(hours=5)
        assert [d.get("/events/").status_code for d in (tablet, phone)] == [200, 200]
        phone = sign_in(people.chief)
        phone.get("/")
        now[0] += timedelta(hours=5)
        assert phone.get("/events/").status_code == 200

    def test_no_sign_in_lasts_for_ever(
        self, people: People, now: list[datetime], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        assert timedelta(days=180) == LONGEST
        # Shorter than the 30 days after which a session that nothing changes ends anyway.
        monkeypatch.setattr("clubsetup.access.idle_sessions.LONGEST", timedelta(days=4))
        phone = sign_in(people.chief)
        for _ in range(3):  # used all the time
            now[0] += timedelta(days=1)
            assert phone.get("/events/").status_code == 200
        now[0] += timedelta(days=1, minutes=1)
        assert phone.get("/events/")["Location"] == f"{LOGIN}?next=/events/"
        assert "rest for" not in phone.get(LOGIN).content.decode()

    def test_a_steward_sets_it_on_the_clubs_page(self, people: People) -> None:
        where = reverse("club-tablets", args=[people.club.pk])
        steward = Client()
        steward.force_login(people.steward)
        refused = steward.post(where, {"minutes": "2"})
        assert refused.status_code == 200
        assert "Give 5 to 1440 minutes, or none." in refused.content.decode()
        assert 'value="2"' in refused.content.decode()
        assert steward.post(where, {"minutes": "20"}).status_code == 302
        official = Client()
        official.force_login(people.official)
        assert official.post(where, {"minutes": ""}).status_code == 403


def test_a_network_without_tls_is_named_for_what_it_is(people: People) -> None:
    page = Client().get(LOGIN, HTTP_HOST="paddock.example").content.decode()
    assert "could read along" in page
    assert (
        "could read along" not in Client().get(LOGIN, HTTP_HOST="localhost:8000").content.decode()
    )
    assert "could read along" not in Client().get(LOGIN, secure=True).content.decode()


@pytest.mark.parametrize(
    "came_from", ["//elsewhere.example/x", "///elsewhere.example", "/\\elsewhere"]
)
def test_a_referer_never_becomes_a_link_to_elsewhere(people: People, came_from: str) -> None:
    client = Client()
    client.force_login(people.chief)
    answer = client.get(reverse("print-ask"), HTTP_REFERER=f"http://testserver{came_from}")
    assert "elsewhere" not in answer.content.decode()
