"""The API of events: who may what, sending twice, problems, quantities."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from rest_framework.test import APIClient

from clubsetup.access.ids import new_id
from clubsetup.access.viewer import viewing_as
from events.actions.ballast import record_not_on_car
from events.api import events, rules, tech
from events.api.urls import router
from events.models import Entry, WeighIn
from teams.actions.clubs import set_club_units
from tests.events.meeting import Meeting
from tests.events.test_page_access import CLUB, EVERYBODY, OUTSIDE, READS, SEES_ENTRY, TEAM, full
from tests.events.test_page_access import state as everything

__all__ = ["full"]
API = "/api/v1"
OFFICIALS = {"official", "steward"}


@pytest.fixture
def api() -> APIClient:
    return APIClient()


def weighing(meeting: Meeting, **changed: Any) -> dict[str, Any]:
    return {
        "entry": str(meeting.entry.pk),
        "scale_set": str(meeting.scales.pk),
        "stage": "entry",
        "driver_in": True,
        "total": "321.4",
        **changed,
    }


# address: (who reads a row, how many rows others of the club read is 0)
LISTS: dict[str, set[str]] = {
    "rule-sets": CLUB,
    "rules": CLUB,
    "scale-sets": CLUB,
    "events": CLUB,
    "event-classes": CLUB,
    "entries": SEES_ENTRY | {"rival"},  # a rival reads their own
    "weigh-ins": SEES_ENTRY,
    "ballast-checks": SEES_ENTRY,
    "findings": SEES_ENTRY,
    "tech-readings": SEES_ENTRY,
    "voids": set(),
}


# The modules held here; those around the desk are held in tests/events/desk.
HELD = (events, rules, tech)


def test_every_list_is_in_the_table() -> None:
    modules = {module.__name__ for module in HELD}
    found = {prefix for prefix, view, _ in router.registry if view.__module__ in modules}
    assert found == LISTS.keys()


@pytest.mark.parametrize("name", sorted(LISTS))
def test_who_reads_a_list(api: APIClient, full: Meeting, name: str) -> None:
    assert api.get(f"{API}/{name}").status_code == 401
    for person in sorted(EVERYBODY):
        api.force_login(getattr(full.people, person))
        answer = api.get(f"{API}/{name}")
        assert answer.status_code == 200
        assert bool(answer.json()["results"]) == (person in LISTS[name]), person


@pytest.mark.parametrize("name", sorted(LISTS.keys() - {"voids"}))
def test_who_reads_one(api: APIClient, full: Meeting, name: str) -> None:
    api.force_login(full.people.chief)
    # The Wrens' own where a list holds others' too.
    one = api.get(f"{API}/{name}").json()["results"][0]["id"]
    readers = SEES_ENTRY if name == "entries" else LISTS[name]
    for person in sorted(EVERYBODY):
        api.force_login(getattr(full.people, person))
        expected = 200 if person in readers else 404
        assert api.get(f"{API}/{name}/{one}").status_code == expected, person


READINGS_OF_AN_EVENT = {
    "start-list": (CLUB, set()),
    "published-findings": (CLUB, set()),
    "desk": (OFFICIALS, CLUB - OFFICIALS),
    "cars-by-number?number=27": (OFFICIALS, CLUB - OFFICIALS),
}


@pytest.mark.parametrize("name", sorted(READINGS_OF_AN_EVENT))
def test_who_reads_what_of_an_event(api: APIClient, full: Meeting, name: str) -> None:
    gets, refused = READINGS_OF_AN_EVENT[name]
    where = f"{API}/events/{full.event.pk}/{name}"
    assert api.get(where).status_code == 401
    for person in sorted(EVERYBODY):
        api.force_login(getattr(full.people, person))
        expected = 200 if person in gets else 403 if person in refused else 404
        assert api.get(where).status_code == expected, person


def writes(m: Any) -> dict[str, tuple[str, str, dict[str, Any], set[str], set[str]]]:
    """name: (method, address, what is sent, who may, who is told 403; the rest 404 or 400)."""
    club, event = str(m.people.club.pk), str(m.event.pk)
    entry, steward = str(m.entry.pk), {"steward"}
    none: dict[str, Any] = {}
    club_but_steward = CLUB - steward
    official, team_sees = {"official"}, SEES_ENTRY - {"official"}
    race_class, draft = str(m.race_class.pk), str(m.draft.pk)
    day = "2027-01-01"
    return {
        "draft": (
            "post",
            "rule-sets",
            {"race_class": race_class, "valid_from": day},
            steward,
            club_but_steward,
        ),
        "set": ("put", f"rule-sets/{draft}", {"valid_from": day}, steward, club_but_steward),
        "publish": ("post", f"rule-sets/{draft}/publish", none, steward, club_but_steward),
        "retire": ("post", f"rule-sets/{m.rule_set.pk}/retire", none, steward, club_but_steward),
        "rule": (
            "post",
            "rules",
            {"rule_set": draft, "kind": "minimum_weight", "parameters": {"minimum": "100"}},
            steward,
            club_but_steward,
        ),
        "rule out": ("delete", f"rules/{m.rule.pk}", none, steward, club_but_steward),
        "scales": (
            "post",
            "scale-sets",
            {"club": club, "name": "New", "division": "0.5 lb"},
            steward,
            club_but_steward,
        ),
        "event": (
            "post",
            "events",
            {
                "club": club,
                "track": str(m.track.pk),
                "name": "July",
                "starts_on": day,
                "ends_on": day,
            },
            steward,
            club_but_steward,
        ),
        "end": ("post", f"events/{event}/end", none, steward, club_but_steward),
        "publish findings": (
            "post",
            f"events/{event}/publish-findings",
            none,
            steward,
            club_but_steward,
        ),
        "class": (
            "post",
            "event-classes",
            {"event": event, "race_class": str(m.senior.pk)},
            steward,
            club_but_steward,
        ),
        "by hand": (
            "post",
            "entries/walk-in",
            {
                "event_class": str(m.event_class.pk),
                "car_number": "28",
                "car_id": str(m.car.pk),
            },
            OFFICIALS,
            CLUB - OFFICIALS,
        ),
        "number": ("patch", f"entries/{entry}", {"number": "72"}, TEAM | OFFICIALS, READS),
        "withdraw": ("post", f"entries/{entry}/withdraw", none, TEAM | OFFICIALS, READS),
        "weigh": ("post", "weigh-ins", weighing(m), official, team_sees),
        "look": (
            "post",
            "ballast-checks",
            {"entry": entry, "label_legible": True, "label": "27", "fixed": True},
            official,
            team_sees,
        ),
        "no ballast": (
            "post",
            "ballast-checks",
            {"entry": entry, "none_on_car": True},
            official,
            team_sees,
        ),
        "not on the car": (
            "post",
            "ballast-checks",
            {"entry": entry, "not_on_car": True, "look": str(m.look.pk), "reason": "Taken off"},
            official,
            team_sees,
        ),
        "measure": (
            "post",
            "tech-readings",
            {"entry": entry, "measure": "wheelbase", "spot": "right", "length": "46 1/2"},
            official,
            team_sees,
        ),
        "void a length": (
            "post",
            "voids",
            {"tech_reading": str(m.length.pk), "reason": "No"},
            official,
            team_sees,
        ),
        "void": (
            "post",
            "voids",
            {"weigh_in": str(m.first.pk), "reason": "No"},
            official,
            team_sees,
        ),
        "void a look": (
            "post",
            "voids",
            {"ballast_check": str(m.look.pk), "reason": "No"},
            official,
            team_sees,
        ),
    }


NAMES = [
    *("draft", "set", "publish", "retire", "rule", "rule out", "scales", "event", "end"),
    *("publish findings", "class", "by hand", "number", "withdraw", "weigh", "look"),
    *("no ballast", "not on the car", "void", "void a look", "measure", "void a length"),
]


def test_every_write_is_tried(full: Meeting) -> None:
    assert writes(full).keys() == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_who_writes(api: APIClient, full: Meeting, name: str) -> None:
    if name == "no ballast":
        with viewing_as(full.people.official.pk):
            record_not_on_car(
                by=full.people.official, entry=full.entry, piece=full.piece, reason="Taken off"
            )
    method, where, sent, may, refused = writes(full)[name]
    send, before = getattr(api, method), everything(full)
    assert send(f"{API}/{where}", sent, format="json").status_code == 401
    for person in sorted(EVERYBODY - may):
        api.force_login(getattr(full.people, person))
        answer = send(f"{API}/{where}", sent, format="json")
        # What cannot be seen is not there: in the address 404, in the content 400.
        assert answer.status_code in ({403} if person in refused else {404, 400}), person
        assert answer.headers["Content-Type"] == "application/problem+json"
    assert everything(full) == before
    api.force_login(getattr(full.people, min(may)))
    answer = send(f"{API}/{where}", sent, format="json")
    if name == "by hand":  # no car has that number
        assert answer.status_code == 400
    else:
        assert answer.status_code in (200, 201, 204), answer.content
        assert everything(full) != before


def test_the_crew_enter_and_others_cannot_name_what_they_do_not_see(
    api: APIClient, full: Meeting
) -> None:
    with viewing_as(full.people.chief.pk):
        Entry.objects.filter(pk=full.entry.pk).update(withdrawn_at="2026-06-06T08:00Z")
    sent = {
        "event_class": str(full.event_class.pk),
        "car": str(full.car.pk),
        "driver": str(full.driver.pk),
    }
    for person in sorted(OUTSIDE | {"rival", "unlinked_coach", "official", "steward"}):
        api.force_login(getattr(full.people, person))
        assert api.post(f"{API}/entries", sent, format="json").status_code == 400, person
    for person in ("guest", "coach"):
        api.force_login(getattr(full.people, person))
        assert api.post(f"{API}/entries", sent, format="json").status_code == 403, person
    api.force_login(full.people.crew)
    assert api.post(f"{API}/entries", sent, format="json").status_code == 201


def test_weighing_answers_with_the_finding(api: APIClient, meeting: Meeting) -> None:
    api.force_login(meeting.people.official)
    answer = api.post(f"{API}/weigh-ins", weighing(meeting), format="json")
    assert answer.status_code == 201
    body = answer.json()
    assert body["total"] == {"value": "145.784587718", "unit": "kg", "typed": "321.4"}
    weight = next(f for f in body["findings"] if "320 lb" in f["rule_words"])
    assert weight["outcome"] == "meets"
    assert weight["evidence"]["quantity"] == "mass"


def test_four_pads(api: APIClient, meeting: Meeting) -> None:
    api.force_login(meeting.people.official)
    sent = weighing(meeting, pads={"LF": "95.2", "RF": "72", "LR": "96.4", "RR": "31 kg"})
    del sent["total"]
    body = api.post(f"{API}/weigh-ins", sent, format="json").json()
    assert body["rr"]["value"] == "31"
    assert body["typed"] == {"LF": "95.2", "RF": "72", "LR": "96.4", "RR": "31 kg"}


def test_a_bare_number_is_in_the_clubs_units(api: APIClient, meeting: Meeting) -> None:
    people = meeting.people
    with viewing_as(people.steward.pk):
        set_club_units(by=people.steward, club=people.club, units={"mass": "kg"})
    api.force_login(people.official)
    body = api.post(f"{API}/weigh-ins", weighing(meeting, total="146"), format="json").json()
    assert body["total"]["value"] == "146"


def test_sending_a_weigh_in_twice_makes_one(api: APIClient, meeting: Meeting) -> None:
    api.force_login(meeting.people.official)
    sent = weighing(meeting, id=str(new_id()))
    first = api.post(f"{API}/weigh-ins", sent, format="json")
    second = api.post(f"{API}/weigh-ins", sent, format="json")
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json()["id"] == second.json()["id"] == sent["id"]
    other = api.post(f"{API}/weigh-ins", {**sent, "total": "322"}, format="json")
    assert other.status_code == 409
    with viewing_as(meeting.people.official.pk):
        assert WeighIn.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "pointer"),
    [
        ({"total": "heavy"}, "#/total"),
        ({"total": None}, "#/total"),
        ({"stage": "later"}, "#/stage"),
        ({"pads": {"LF": "80"}}, "#/pads/RF"),
        ({"entry": str(uuid4())}, "#/entry"),
    ],
)
def test_what_is_wrong_is_pointed_at(
    api: APIClient, meeting: Meeting, changed: dict[str, Any], pointer: str
) -> None:
    api.force_login(meeting.people.official)
    answer = api.post(f"{API}/weigh-ins", weighing(meeting, **changed), format="json")
    assert answer.status_code == 400
    assert pointer in [error["pointer"] for error in answer.json()["errors"]]


def test_neither_legible_nor_fixed_is_taken_for_granted(api: APIClient, meeting: Meeting) -> None:
    api.force_login(meeting.people.official)
    sent = {"entry": str(meeting.entry.pk), "label": "27"}
    answer = api.post(f"{API}/ballast-checks", sent, format="json")
    pointers = {error["pointer"] for error in answer.json()["errors"]}
    assert pointers == {"#/label_legible", "#/fixed"}


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
@pytest.mark.parametrize(
    "name", ["weigh-ins", "ballast-checks", "tech-readings", "findings", "voids"]
)
def test_there_is_no_way_to_change_a_record(
    api: APIClient, full: Meeting, name: str, method: str
) -> None:
    api.force_login(full.people.official)
    one = full.first.pk  # type: ignore[attr-defined]
    answer = getattr(api, method)(f"{API}/{name}/{one}", {}, format="json")
    assert answer.status_code == 405


def test_filters(api: APIClient, full: Meeting) -> None:
    api.force_login(full.people.official)
    for entry, found in ((full.entry, 1), (full.rival_entry, 0)):
        answer = api.get(f"{API}/weigh-ins", {"entry": str(entry.pk)})
        assert len(answer.json()["results"]) == found
    answer = api.get(f"{API}/findings", {"entry__event": str(full.event.pk), "outcome": "fails"})
    assert answer.json()["results"] == []


def test_the_kinds_of_rules_say_what_they_need(api: APIClient, meeting: Meeting) -> None:
    assert api.get(f"{API}/rule-kinds").status_code == 401
    api.force_login(meeting.people.stranger)
    kinds = {kind["kind"]: kind for kind in api.get(f"{API}/rule-kinds").json()}
    minimum = kinds["minimum_weight"]["parameters"][0]
    assert (minimum["name"], minimum["quantity"]) == ("minimum", "mass")


def test_the_desk_as_json(api: APIClient, meeting: Meeting) -> None:
    meeting.weigh("318.6")
    api.force_login(meeting.people.official)
    (row,) = api.get(f"{API}/events/{meeting.event.pk}/desk", {"search": "27"}).json()
    assert row["state"] == "fails"
    assert row["sentence"].startswith("318.6 lb is 1.4 lb under")


def test_a_page_of_another_origin_cannot_weigh(meeting: Meeting) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(meeting.people.official)
    assert strict.post(f"/entries/{meeting.entry.pk}/weigh", {"total": "321"}).status_code == 403
