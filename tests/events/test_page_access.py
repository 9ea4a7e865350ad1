"""Every page and button of events, for everybody: who sees, who does, who is refused."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import URLPattern, reverse

from cars.garage.actions.cars import add_car
from clubsetup.access.viewer import viewing_as
from events.actions.ballast import record_not_on_car
from events.actions.entries import enter_walk_in, withdraw_entry
from events.actions.rule_sets import add_rule, draft_rule_set
from events.models import (
    BallastCheck,
    Entry,
    Event,
    EventClass,
    Finding,
    Rule,
    RuleSet,
    ScaleSet,
    TechReading,
    Void,
    WeighIn,
)
from events.pages import desk, entering, listing, moves, results, rules, scales
from events.pages.urls import urlpatterns
from teams.actions.places import add_race_class
from tests.events.meeting import RULES, Meeting, publish_rules
from tests.events.test_ballast_checks import look
from tests.events.test_measuring import measured

TEAM = {"chief", "crew"}
READS = {"guest", "coach"}
CLUB = TEAM | READS | {"unlinked_coach", "rival", "official", "steward"}
OUTSIDE = {"other_official", "other_steward", "stranger"}
EVERYBODY = CLUB | OUTSIDE
OFFICIALS = {"official", "steward"}
SEES_ENTRY = TEAM | READS | OFFICIALS


@pytest.fixture
def full(meeting: Meeting) -> Meeting:
    """With a weigh-in, a look at ballast, a draft of the next rules and a class not yet run."""
    by = meeting.people.steward
    meeting.first = meeting.weigh("321")  # type: ignore[attr-defined]
    meeting.length = measured(meeting, "45")  # type: ignore[attr-defined]
    meeting.look = look(meeting)  # type: ignore[attr-defined]
    with viewing_as(by.pk):
        draft = draft_rule_set(
            by=by, race_class=meeting.race_class, valid_from=meeting.event.starts_on
        )
        rule = add_rule(by=by, rule_set=draft, kind="ballast_fixed", parameters={})
        senior = add_race_class(by=by, club=meeting.people.club, name="Senior")
    publish_rules(meeting.people, senior, RULES[:1])
    meeting.draft, meeting.rule, meeting.senior = draft, rule, senior  # type: ignore[attr-defined]
    return meeting


def walk_in_entry(meeting: Meeting) -> list[Any]:
    """An entry of another car of the Wrens, made by the official."""
    people = meeting.people
    with viewing_as(people.chief.pk):
        chassis = meeting.car.chassis
        car = add_car(by=people.chief, team=people.team, number="78", chassis=chassis)
    with viewing_as(people.official.pk):
        made = enter_walk_in(
            by=people.official,
            event_class=meeting.event_class,
            car_number="78",
            car_id=car.pk,
        )
    return [made.pk]


# name: (the ids in its address, who gets it, who sees the thing but is refused)
Page = tuple[Callable[[Any], list[Any]], set[str], set[str]]
PAGES: dict[str, Page] = {
    "events": (lambda m: [], EVERYBODY, set()),
    "event": (lambda m: [m.event.pk], CLUB, set()),
    "desk": (lambda m: [m.event.pk], OFFICIALS, CLUB - OFFICIALS),
    "walk-in": (lambda m: [m.event.pk], OFFICIALS, CLUB - OFFICIALS),
    "enter": (lambda m: [m.event.pk, m.people.team.pk], TEAM, CLUB - TEAM),
    "entry": (lambda m: [m.entry.pk], SEES_ENTRY, set()),
    "ballast-check": (lambda m: [m.entry.pk], {"official"}, SEES_ENTRY - {"official"}),
    "not-on-car": (lambda m: [m.entry.pk], {"official"}, SEES_ENTRY - {"official"}),
    "entry-number": (lambda m: [m.entry.pk], TEAM | OFFICIALS, READS),
    "entry-confirm": (walk_in_entry, TEAM, READS | OFFICIALS),
    "weigh-in-void": (lambda m: [m.first.pk], {"official"}, SEES_ENTRY - {"official"}),
    "ballast-check-void": (lambda m: [m.look.pk], {"official"}, SEES_ENTRY - {"official"}),
    "measure": (lambda m: [m.entry.pk], {"official"}, SEES_ENTRY - {"official"}),
    "tech-reading-void": (lambda m: [m.length.pk], {"official"}, SEES_ENTRY - {"official"}),
    "results": (lambda m: [m.people.team.pk], SEES_ENTRY, {"rival", "unlinked_coach"}),
    "event-new": (lambda m: [m.people.club.pk], {"steward"}, CLUB - {"steward"}),
    "rules": (lambda m: [m.people.club.pk], CLUB, set()),
    "class-rules": (lambda m: [m.race_class.pk], CLUB, set()),
    "scales": (lambda m: [m.people.club.pk], CLUB, set()),
    "rule-set-new": (lambda m: [m.race_class.pk], {"steward"}, CLUB - {"steward"}),
    "rule-set": (lambda m: [m.draft.pk], CLUB, set()),
    "rule-set-change": (lambda m: [m.draft.pk], {"steward"}, CLUB - {"steward"}),
    "rule-new": (lambda m: [m.draft.pk, "minimum_weight"], {"steward"}, CLUB - {"steward"}),
    "rule-change": (lambda m: [m.rule.pk], {"steward"}, CLUB - {"steward"}),
}

# name: (the ids, what is sent, who may, who sees but may not)
Button = tuple[Callable[[Any], list[Any]], Callable[[Any], dict[str, Any]], set[str], set[str]]
NOTHING: Callable[[Any], dict[str, Any]] = lambda m: {}  # noqa: E731


def withdrawn(meeting: Meeting) -> list[Any]:
    """An entry that its chief has withdrawn."""
    by = meeting.people.chief
    with viewing_as(by.pk):
        return [withdraw_entry(by=by, entry=meeting.entry).pk]


def without_pieces(meeting: Meeting) -> list[Any]:
    """An entry whose only piece is recorded as not on the car."""
    by = meeting.people.official
    with viewing_as(by.pk):
        record_not_on_car(by=by, entry=meeting.entry, piece=meeting.piece, reason="Taken off")
    return [meeting.entry.pk]


BUTTONS: dict[str, Button] = {
    "event-class-new": (
        lambda m: [m.event.pk],
        lambda m: {"race_class": m.senior.pk},
        {"steward"},
        CLUB - {"steward"},
    ),
    "event-class-remove": (
        lambda m: [m.event_class.pk],
        NOTHING,
        {"steward"},
        CLUB - {"steward"},
    ),
    "event-move": (lambda m: [m.event.pk, "end"], NOTHING, {"steward"}, CLUB - {"steward"}),
    "weigh": (
        lambda m: [m.entry.pk],
        lambda m: {
            "row_id": uuid4(),
            "total": "322",
            "stage": "entry",
            "scale_set": m.scales.pk,
            "driver_in": "on",
        },
        {"official"},
        SEES_ENTRY - {"official"},
    ),
    "no-ballast": (without_pieces, NOTHING, {"official"}, SEES_ENTRY - {"official"}),
    "entry-withdraw": (lambda m: [m.entry.pk], NOTHING, TEAM | OFFICIALS, READS),
    "entry-restore": (withdrawn, NOTHING, TEAM | OFFICIALS, READS),
    "rule-set-publish": (
        lambda m: [m.draft.pk],
        lambda m: {"past": "on"},
        {"steward"},
        CLUB - {"steward"},
    ),
    "rule-set-retire": (lambda m: [m.rule_set.pk], NOTHING, {"steward"}, CLUB - {"steward"}),
    "rule-remove": (lambda m: [m.rule.pk], NOTHING, {"steward"}, CLUB - {"steward"}),
}
# What cannot be undone, or is seen by others at once, is asked before.
ASKED = {"event-move", "rule-set-retire"}
# Pages with a form: what is sent to them, by those who get the page and by those who do not.
FORMS: dict[str, Callable[[Any], dict[str, Any]]] = {
    "walk-in": lambda m: {
        "car_number": "27",
        "event_class": m.event_class.pk,
        "car_id": m.car.pk,
    },
    "enter": lambda m: {
        "event_class": m.event_class.pk,
        "car": m.car.pk,
        "driver": m.driver.pk,
        "number": "73",
    },
    "not-on-car": lambda m: {"row_id": uuid4(), "look": m.look.pk, "reason": "Taken off"},
    "ballast-check": lambda m: {
        "row_id": uuid4(),
        "label_legible": "yes",
        "label": "27",
        "fixed": "yes",
    },
    "entry-number": lambda m: {"number": "74"},
    "entry-confirm": lambda m: {"driver": m.driver.pk},
    "weigh-in-void": lambda m: {"row_id": uuid4(), "reason": "Not level"},
    "ballast-check-void": lambda m: {"row_id": uuid4(), "reason": "Not level"},
    "tech-reading-void": lambda m: {"row_id": uuid4(), "reason": "Not level"},
    "event-new": lambda m: {
        "name": "July",
        "track": m.track.pk,
        "starts_on": "2026-07-01",
        "ends_on": "2026-07-02",
    },
    "scales": lambda m: {"name": "New", "pads": "4", "division": "0.5 lb"},
    "rule-set-new": lambda m: {"valid_from": "2027-01-01", "decision": "reading"},
    "rule-set-change": lambda m: {"valid_from": "2027-01-01", "decision": "guarded"},
    "rule-new": lambda m: {"minimum": "320 lb", "with_driver": "on", "stage": "any"},
}
KEPT = (
    BallastCheck,
    Entry,
    Event,
    EventClass,
    Finding,
    Rule,
    RuleSet,
    ScaleSet,
    Void,
    WeighIn,
    TechReading,
)


def address(name: str, ids: list[Any]) -> str:
    return reverse(name, args=ids)


def state(meeting: Meeting) -> list[Any]:
    """Everything kept, as the steward and the team see it."""
    found = []
    for who in (meeting.people.steward, meeting.people.chief):
        with viewing_as(who.pk):
            found += [list(model.objects.order_by("pk").values()) for model in KEPT]
    return found


def expected(name: str, gets: set[str], refused: set[str]) -> int:
    if name in gets:
        return 200
    return 403 if name in refused else 404


# The rooms of pages held here; those around the desk are held in tests/events/desk.
HELD = (desk, entering, listing, moves, results, rules, scales)


def test_every_address_of_these_rooms_stands_in_a_table_here() -> None:
    modules = {room.__name__ for room in HELD}
    own = (one for one in urlpatterns if isinstance(one, URLPattern))
    named = {one.name for one in own if one.callback.__module__ in modules}
    assert named == PAGES.keys() | BUTTONS.keys()
    assert FORMS.keys() <= PAGES.keys()


@pytest.mark.parametrize("page", sorted(PAGES))
def test_who_gets_a_page(client: Client, full: Meeting, page: str) -> None:
    ids, gets, refused = PAGES[page]
    where = address(page, ids(full))
    signed_out = client.get(where)
    assert signed_out.status_code == 302
    assert "/accounts/login/" in signed_out.headers["Location"]
    for name in sorted(EVERYBODY):
        client.force_login(getattr(full.people, name))
        assert client.get(where).status_code == expected(name, gets, refused), name


@pytest.mark.parametrize("page", sorted(FORMS))
def test_who_may_send_its_form(client: Client, full: Meeting, page: str) -> None:
    ids, gets, refused = PAGES[page]
    if page == "scales":
        gets, refused = {"steward"}, CLUB - {"steward"}
    where, before = address(page, ids(full)), state(full)
    assert client.post(where, FORMS[page](full)).status_code == 302
    for name in sorted(EVERYBODY - gets):
        client.force_login(getattr(full.people, name))
        answer = client.post(where, FORMS[page](full))
        assert answer.status_code == expected(name, gets, refused), name
    assert state(full) == before
    client.force_login(getattr(full.people, min(gets)))
    assert client.post(where, FORMS[page](full)).status_code in (200, 302)
    # The car is entered already: entering it again is refused with its reason.
    assert (state(full) == before) == (page in {"enter", "walk-in"})


@pytest.mark.parametrize("button", sorted(BUTTONS))
def test_who_may_press_a_button(client: Client, full: Meeting, button: str) -> None:
    ids, sent, may, refused = BUTTONS[button]
    where, before = address(button, ids(full)), state(full)
    assert client.post(where, sent(full)).status_code == 302
    for name in sorted(EVERYBODY - may):
        client.force_login(getattr(full.people, name))
        assert client.post(where, sent(full)).status_code == expected(name, may, refused), name
    assert state(full) == before
    client.force_login(getattr(full.people, min(may)))
    # A page that asks, or nothing to get; either way nothing is done yet.
    assert client.get(where).status_code == (200 if button in ASKED else 405)
    assert state(full) == before
    assert client.post(where, sent(full)).status_code == 302
    # A class with entries stays in its event; everything else is done.
    assert (state(full) == before) == (button == "event-class-remove")


def test_the_start_page_leads_an_official_to_the_desk(client: Client, full: Meeting) -> None:
    client.force_login(full.people.official)
    assert f"/events/{full.event.pk}/desk" in client.get("/").content.decode()


def test_and_shows_a_family_its_result_and_others_the_event(client: Client, full: Meeting) -> None:
    full.weigh("318.6")
    client.force_login(full.people.chief)
    assert "Add 1.4 lb of ballast" in client.get("/").content.decode()
    for name in ("rival", "unlinked_coach", "steward"):
        client.force_login(getattr(full.people, name))
        text = client.get("/").content.decode()
        assert "June Meeting" in text
        assert "Add 1.4 lb" not in text
    client.force_login(full.people.stranger)
    assert "June Meeting" not in client.get("/").content.decode()
