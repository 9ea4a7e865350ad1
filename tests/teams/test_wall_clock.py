"""Whose wall clock a person reads, and who sets it."""

import os
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from django.conf import LazySettings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clubsetup.access.errors import Invalid
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.actions.ask import ask_for_print
from teams.actions.clubs import found_club, set_club_time_zone
from teams.models import Club
from teams.queries.clocks import LazyZone, today_of, zone_of
from tests.clocks import keep_time, stand_still
from tests.markup import one_line
from tests.people import People, join, person
from tests.printing.documents import TEAM_CARD
from tests.teams.conftest import EVERYBODY, IN_CLUB, Things, fresh
from tests.teams.test_query_counts import queries

SignedIn = Callable[[str], Client]
JSON = "application/json"
CHICAGO = "America/Chicago"
# Four past seven in the evening of the 5th in Chicago.
EVENING = datetime(2026, 11, 6, 1, 4, tzinfo=UTC)
HERE = ("steward", "official", "coach", "unlinked_coach", "chief", "crew", "guest", "rival")


def zone(people: People, who: str) -> str:
    user = fresh(getattr(people, who))
    with viewing_as(user.pk):
        return str(zone_of(user))


@pytest.fixture
def chicago(people: People) -> None:
    keep_time(people.steward, people.club, CHICAGO)


# Whose clock


def test_everybody_of_a_club_reads_its_clock(people: People, chicago: None) -> None:
    assert {who: zone(people, who) for who in HERE} == dict.fromkeys(HERE, CHICAGO)


def test_another_club_and_people_of_none_read_the_services(
    people: People, chicago: None, settings: LazySettings
) -> None:
    settings.CLUBSETUP_TIME_ZONE = "Europe/Berlin"
    assert zone(people, "other_official") == "UTC"  # the club chose no other when it was made
    assert zone(people, "stranger") == "Europe/Berlin"


def test_a_new_club_begins_with_the_services(people: People, settings: LazySettings) -> None:
    settings.CLUBSETUP_TIME_ZONE = "Europe/Berlin"
    by = fresh(people.stranger)
    with viewing_as(by.pk):
        club = found_club(by=by, name="Ash Lane", short_name="ash-lane")
    assert Club(pk=club.pk, time_zone=club.time_zone).zone() == ZoneInfo("Europe/Berlin")


def test_clubs_that_agree_are_one_clock_and_clubs_that_differ_none(
    people: People, chicago: None
) -> None:
    join(people.other_steward, people.official, people.other_club, "coach")
    assert zone(people, "official") == "UTC"
    keep_time(people.other_steward, people.other_club, CHICAGO)
    assert zone(people, "official") == CHICAGO


def test_the_clock_is_found_out_once_and_only_when_a_time_is_told() -> None:
    asked = []

    def find() -> ZoneInfo:
        asked.append(1)
        return ZoneInfo(CHICAGO)

    lazy = LazyZone(find)
    with timezone.override(lazy):
        assert asked == []
        for hour in (6, 7):  # one hour comes twice
            moment = datetime(2026, 11, 1, hour, 30, tzinfo=UTC)
            assert timezone.localtime(moment).isoformat()[:16] == "2026-11-01T01:30"
            assert timezone.localtime(moment).astimezone(UTC) == moment
        assert timezone.make_aware(datetime(2026, 7, 1, 12)).astimezone(UTC).hour == 17
        assert timezone.get_current_timezone_name() == CHICAGO
    assert asked == [1]


# What is read


def test_the_trail_is_told_in_the_clubs_clock_and_names_it(
    people: People, signed_in: SignedIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    stand_still(monkeypatch, datetime(2026, 11, 1, 6, 30, tzinfo=UTC))
    keep_time(people.steward, people.club, CHICAGO)
    stand_still(monkeypatch, datetime(2026, 11, 1, 7, 30, tzinfo=UTC))
    keep_time(people.steward, people.club, CHICAGO)
    page = signed_in("steward").get(reverse("club-trail", args=[people.club.pk])).content.decode()
    assert "times are CST, America/Chicago" in page
    assert "Steward, 1 Nov 2026 01:30:00</span>" in page
    assert "Steward, 1 Nov 2026 01:30:00 CDT</span>" in page
    assert "changed the club&#x27;s time zone" in page


def test_the_api_keeps_utc(
    people: People, chicago: None, signed_in: SignedIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    stand_still(monkeypatch, EVENING)
    client = signed_in("chief")
    given = {"club": str(people.club.pk), "team": str(people.team.pk), "role": "crew"}
    assert client.post("/api/v1/invitations", given, content_type=JSON).status_code == 201
    made = client.get("/api/v1/invitations").json()["results"][0]
    assert made["created_at"] == "2026-11-06T01:04:00Z"


def test_an_evening_is_not_tomorrow(
    people: People,
    chicago: None,
    signed_in: SignedIn,
    monkeypatch: pytest.MonkeyPatch,
    things: Things,
) -> None:
    stand_still(monkeypatch, EVENING)
    client = signed_in("crew")
    form = client.get(reverse("driver-weight-new", args=[things.driver.pk])).content.decode()
    assert 'value="2026-11-05"' in form
    user = fresh(people.crew)
    with viewing_as(user.pk):
        assert today_of(user) == date(2026, 11, 5)


def test_a_page_that_tells_no_time_asks_nothing_and_one_that_does_asks_once(
    people: People, chicago: None, signed_in: SignedIn
) -> None:
    client = signed_in("crew")
    # Session, person, viewer, the list; with a line, whose clock.
    counts = [queries(client, reverse("prints"))]
    for more in (1, 2):
        for _ in range(more):
            with viewing_as(people.crew.pk):
                ask_for_print(
                    by=fresh(people.crew), document=TEAM_CARD.key, subject_id=people.team.pk
                )
        counts.append(queries(client, reverse("prints")))
    assert counts == [4, 5, 5]


def test_somebody_signed_out_reads_a_page(client: Client, db: None) -> None:
    assert client.get(reverse("account_login")).status_code == 200


# Who sets it


def test_the_steward_chooses_it_and_it_is_in_the_trail(people: People, signed_in: SignedIn) -> None:
    client, path = signed_in("steward"), reverse("club-time-zone", args=[people.club.pk])
    assert '<optgroup label="America">' in client.get(path).content.decode()
    page = client.post(path, {"time_zone": CHICAGO}, follow=True)
    done = one_line(page.content.decode())
    assert "The club&#x27;s times are those of America/Chicago." in done
    assert "keeps the time of America/Chicago" in done
    with viewing_as(people.steward.pk):
        line = TrailLine.objects.get(did="set_time_zone")
    assert (line.club_id, line.detail) == (people.club.pk, {"time_zone": CHICAGO})


@pytest.mark.parametrize("given", ["", "Chicago", "../../etc/passwd"])
def test_a_wrong_one_is_refused_and_nothing_changes(
    people: People, chicago: None, signed_in: SignedIn, given: str
) -> None:
    path = reverse("club-time-zone", args=[people.club.pk])
    answer = signed_in("steward").post(path, {"time_zone": given})
    assert answer.context["form"].errors["time_zone"]
    refused = signed_in("steward").patch(
        f"/api/v1/clubs/{people.club.pk}", {"time_zone": given}, content_type=JSON
    )
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["pointer"] == "#/time_zone"
    assert zone(people, "crew") == CHICAGO


def test_the_action_says_how_to_mend_it(people: People) -> None:
    by = fresh(people.steward)
    with viewing_as(by.pk), pytest.raises(Invalid, match="such as America/Chicago") as refused:
        set_club_time_zone(by=by, club=people.club, time_zone="Central")
    assert refused.value.field == "time_zone"


def test_only_the_steward_changes_it_through_the_api(people: People, signed_in: SignedIn) -> None:
    path = f"/api/v1/clubs/{people.club.pk}"
    for who in EVERYBODY:
        answer = signed_in(who).patch(path, {"time_zone": CHICAGO}, content_type=JSON)
        allowed = {"steward": 200}.get(who, 403 if who in IN_CLUB else 404)
        assert (who, answer.status_code) == (who, allowed)
    assert signed_in("guest").get(path).json()["time_zone"] == CHICAGO


def test_the_service_does_not_start_with_a_zone_that_is_none() -> None:
    started = subprocess.run(
        [sys.executable, "-c", "import clubsetup.settings"],
        env={**os.environ, "CLUBSETUP_TIME_ZONE": "Central"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert started.returncode != 0
    assert 'CLUBSETUP_TIME_ZONE: There is no time zone "Central".' in started.stderr


def test_clocks_do_not_follow_a_person_who_is_of_no_club_any_more(people: People) -> None:
    nobody = person("late")
    with viewing_as(nobody.pk):
        assert str(zone_of(nobody)) == "UTC"
