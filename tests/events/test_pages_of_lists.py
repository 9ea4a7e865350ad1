"""Lists of events and results go back page by page, and lose nothing on the way."""

import re
from datetime import date
from typing import Any

import pytest
from django.test import Client
from rest_framework.test import APIClient

from clubsetup.access.viewer import viewing_as
from events.actions.entries import enter
from events.actions.events import add_event_class, plan_event
from events.models import Entry, Event, RuleSet
from events.pages import draws, listing, results, rule_forms, rules, scale_checks
from events.queries import rule_changes
from tests.events.meeting import Meeting
from tests.events.test_query_counts import more_draws, more_versions
from tests.events.test_record_chain import check
from tests.walking_pages import all_pages

DAYS = (date(2026, 8, 1), date(2026, 8, 1), date(2026, 7, 1), date(2025, 5, 1))
EVENT = r'href="/events/([0-9a-f-]{36})/"'
ENTRY = r'<a href="/entries/([0-9a-f-]{36})/"'


def more_events(meeting: Meeting) -> list[Event]:
    """Four beside the one under way; two on one day, and the last planned is the first held."""
    steward = meeting.people.steward
    with viewing_as(steward.pk):
        return [
            plan_event(
                by=steward,
                club=meeting.people.club,
                track=meeting.track,
                name=f"Event {number}",
                starts_on=day,
                ends_on=day,
            )
            for number, day in enumerate(DAYS)
        ]


def more_entries(meeting: Meeting) -> list[Entry]:
    """Of the same car, in two more events."""
    chief, steward = meeting.people.chief, meeting.people.steward
    made = []
    for event in more_events(meeting)[:2]:
        with viewing_as(steward.pk):
            event_class = add_event_class(by=steward, event=event, race_class=meeting.race_class)
        with viewing_as(chief.pk):
            made.append(
                enter(by=chief, event_class=event_class, car=meeting.car, driver=meeting.driver)
            )
    return made


def test_events_by_day_two_on_a_page(
    client: Client, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second, third, last = (str(event.pk) for event in more_events(meeting))
    monkeypatch.setattr(listing, "A_PAGE", 2)
    client.force_login(meeting.people.chief)
    pages = all_pages(client, "/events/", EVENT)
    assert pages == [[second, first], [third, str(meeting.event.pk)], [last]]


def test_results_the_newest_entry_first(
    client: Client, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = (str(entry.pk) for entry in more_entries(meeting))
    monkeypatch.setattr(results, "A_PAGE", 2)
    client.force_login(meeting.people.chief)
    pages = all_pages(client, f"/teams/{meeting.people.team.pk}/results", ENTRY)
    assert pages == [[second, first], [str(meeting.entry.pk)]]


def test_versions_of_a_classs_rules(
    client: Client, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The newest few on the page of all classes, and from there every one."""
    more_versions(meeting)
    client.force_login(meeting.people.chief)
    monkeypatch.setattr(rules, "A_FEW", 2)
    monkeypatch.setattr(rules, "A_PAGE", 2)
    of_class = f"/classes/{meeting.race_class.pk}/rules/"
    of_club = client.get(f"/clubs/{meeting.people.club.pk}/rules").content.decode()
    assert f'href="{of_class}"' in of_club
    assert "Version 2" in of_club
    assert "Version 1<" not in of_club
    assert all_pages(client, of_class, r"Version (\d)<") == [["3", "2"], ["1"]]


@pytest.mark.parametrize(
    ("since", "others"),
    [("", []), ("2", []), ("1", ["2"]), ("3", []), ("x", []), ("9" * 30, []), ("٢", [])],
)
def test_of_many_versions_the_newest_are_offered_to_compare_with(
    client: Client, meeting: Meeting, monkeypatch: pytest.MonkeyPatch, since: str, others: list[str]
) -> None:
    """An older one is compared with when it is asked for."""
    more_versions(meeting)
    client.force_login(meeting.people.chief)
    monkeypatch.setattr(rule_changes, "OFFERED", 1)
    with viewing_as(meeting.people.chief.pk):
        newest = RuleSet.objects.get(race_class=meeting.race_class, version=3)
    page = client.get(f"/rule-sets/{newest.pk}/", {"since": since})
    assert page.status_code == 200
    assert re.findall(r'href="\?since=(\d+)#changed"', page.content.decode()) == others


def test_of_many_versions_the_newest_are_offered_to_begin_with(
    client: Client, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    more_versions(meeting)
    client.force_login(meeting.people.steward)
    monkeypatch.setattr(rule_forms, "OFFERED", 2)
    page = client.get(f"/classes/{meeting.race_class.pk}/rules/new").content.decode()
    assert re.findall(r">Version (\d) \(", page) == ["3", "2"]


def test_a_class_of_few_versions_leads_to_no_other_page(client: Client, meeting: Meeting) -> None:
    client.force_login(meeting.people.chief)
    of_club = client.get(f"/clubs/{meeting.people.club.pk}/rules").content.decode()
    assert "Version 1<" in of_club
    assert "All versions" not in of_club


def test_draws_of_an_event(
    client: Client, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    more_draws(meeting)
    client.force_login(meeting.people.chief)
    monkeypatch.setattr(draws, "A_PAGE", 2)
    pages = all_pages(client, f"/events/{meeting.event.pk}/draws", r'href="/draws/([^/]+)/"')
    assert [len(page) for page in pages] == [2, 1]
    assert len({*pages[0], *pages[1]}) == 3


def test_checks_of_a_scale_set(
    client: Client, meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = [str(check(meeting).pk) for _ in range(3)]
    client.force_login(meeting.people.official)
    monkeypatch.setattr(scale_checks, "A_PAGE", 2)
    row = r'href="/scale-checks/([^/]+)/"'
    pages = all_pages(client, f"/scale-sets/{meeting.scales.pk}/", row)
    assert pages == [[made[2], made[1]], [made[0]]]


def test_results_over_the_api(meeting: Meeting) -> None:
    entries = [meeting.entry, *more_entries(meeting)]
    client = APIClient()
    client.force_login(meeting.people.chief)
    there, found = f"/api/v1/teams/{meeting.people.team.pk}/results?page_size=2", []
    while there:
        answer: dict[str, Any] = client.get(there).json()
        found.append([row["entry"]["id"] for row in answer["results"]])
        there = answer["next"]
    ids = [str(entry.pk) for entry in reversed(entries)]
    assert found == [ids[:2], ids[2:]]


@pytest.mark.parametrize("before", ["x", "1", "01a22d98-e8f0-7e96-be64-938979d7e590"])
def test_a_page_that_there_is_not(client: Client, meeting: Meeting, before: str) -> None:
    client.force_login(meeting.people.chief)
    assert client.get("/events/", {"before": before}).status_code == 400


def test_an_event_of_another_club_says_nothing(client: Client, meeting: Meeting) -> None:
    """Not even on which day it is."""
    client.force_login(meeting.people.other_steward)
    assert client.get("/events/", {"before": str(meeting.event.pk)}).status_code == 400
