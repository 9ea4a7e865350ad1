"""Pages ask the database the same number of questions for one row as for three."""

from collections.abc import Callable
from datetime import date

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.garage.actions.cars import add_car
from cars.models import Chassis
from clubsetup.access.viewer import viewing_as
from events.actions.draws import draw_cars
from events.actions.entries import enter
from events.actions.rule_sets import add_rule, draft_rule_set, publish_rule_set
from events.models import Entry, RuleSet
from events.rules import KINDS
from teams.actions.drivers import add_driver
from tests.events.desk.own_weights import piece, ready_for_ballast, weights
from tests.events.meeting import Meeting
from tests.events.test_ballast_checks import look
from tests.events.test_record_chain import check


def add_entry(meeting: Meeting, number: str) -> Entry:
    chief = meeting.people.chief
    with viewing_as(chief.pk):
        chassis = Chassis.objects.get()
        car = add_car(by=chief, team=meeting.people.team, number=number, chassis=chassis)
        driver = add_driver(by=chief, team=meeting.people.team, display_name=f"D{number}")
        return enter(by=chief, event_class=meeting.event_class, car=car, driver=driver)


def asked(client: Client, where: str) -> int:
    """Once to warm up what is kept for good, then counted."""
    client.get(where)
    with CaptureQueriesContext(
        connection,
    ) as queries:
        assert client.get(where).status_code == 200
    return len(queries)


def more_entries(meeting: Meeting) -> None:
    for number in ("41", "42"):
        meeting.weigh("318", entry=add_entry(meeting, number))


def more_records(meeting: Meeting) -> None:
    for total in ("319", "320"):
        meeting.weigh(total)
        look(meeting, piece=None)


def next_version(meeting: Meeting) -> RuleSet:
    """The draft of the meeting's class, made when it is first asked for."""
    by, race_class = meeting.people.steward, meeting.race_class
    with viewing_as(by.pk):
        found = RuleSet.objects.filter(race_class=race_class, state="draft").first()
        return found or draft_rule_set(by=by, race_class=race_class, valid_from=date(2027, 1, 1))


def more_rules(meeting: Meeting) -> None:
    by, rule_set = meeting.people.steward, next_version(meeting)
    with viewing_as(by.pk):
        for kind in ("ballast_fixed", "ride_height_limit", "minimum_weight"):
            given = KINDS[kind].example().to_params()
            add_rule(by=by, rule_set=rule_set, kind=kind, parameters=given)


def more_draws(meeting: Meeting) -> None:
    by = meeting.people.official
    with viewing_as(by.pk):
        for seed in ("5", "6", "7"):
            draw_cars(by=by, event=meeting.event, seed=seed, count=1, purpose="Fuel")


def more_versions(meeting: Meeting) -> None:
    by = meeting.people.steward
    for year in (2027, 2028):
        with viewing_as(by.pk):
            rule_set = draft_rule_set(
                by=by, race_class=meeting.race_class, valid_from=date(year, 1, 1)
            )
            given = KINDS["ballast_fixed"].example().to_params()
            add_rule(by=by, rule_set=rule_set, kind="ballast_fixed", parameters=given)
            publish_rule_set(by=by, rule_set=rule_set)


def more_checks(meeting: Meeting) -> None:
    for _ in range(2):
        check(meeting)


def precheck_of(meeting: Meeting) -> str:
    """The page's address, the car weighed and its chassis known when it is first asked for."""
    if not meeting.car.chassis.geometry:
        ready_for_ballast(meeting)
        weights(meeting, "79.0", "71.0", "95.0", "71.0")
        piece(meeting, "5.5 lb")
    return f"/cars/{meeting.car.pk}/pre-check"


def more_pieces(meeting: Meeting) -> None:
    for marked in ("3.0 lb", "8.0 lb"):
        piece(meeting, marked)
    weights(meeting, "79.0", "71.0", "95.0", "71.0", role="found")


PAGES: dict[str, tuple[str, Callable[[Meeting], str], Callable[[Meeting], None], int]] = {
    "desk": ("official", lambda m: f"/events/{m.event.pk}/desk", more_entries, 14),
    "rule set": ("steward", lambda m: f"/rule-sets/{next_version(m).pk}/", more_rules, 18),
    "event": ("official", lambda m: f"/events/{m.event.pk}/", more_entries, 14),
    "results": ("chief", lambda m: f"/teams/{m.people.team.pk}/results", more_entries, 14),
    "start": ("chief", lambda m: "/", more_entries, 30),
    # With the queue beside it.
    "entry": ("official", lambda m: f"/entries/{m.entry.pk}/", more_records, 24),
    "entry in a long queue": ("official", lambda m: f"/entries/{m.entry.pk}/", more_entries, 24),
    "entry of the family": ("chief", lambda m: f"/entries/{m.entry.pk}/", more_records, 18),
    "results api": (
        "chief",
        lambda m: f"/api/v1/teams/{m.people.team.pk}/results",
        more_entries,
        14,
    ),
    "records api": (
        "official",
        lambda m: f"/api/v1/events/{m.event.pk}/records",
        more_records,
        22,
    ),
    "draws": ("chief", lambda m: f"/events/{m.event.pk}/draws", more_draws, 12),
    "rules": ("chief", lambda m: f"/clubs/{m.people.club.pk}/rules", more_versions, 10),
    "rules of a class": (
        "chief",
        lambda m: f"/classes/{m.race_class.pk}/rules/",
        more_versions,
        10,
    ),
    "scale set": ("official", lambda m: f"/scale-sets/{m.scales.pk}/", more_checks, 12),
    "draws api": ("chief", lambda m: "/api/v1/draws", more_draws, 14),
    "pre-check": ("chief", precheck_of, more_pieces, 24),
    "pre-check api": ("chief", lambda m: f"/api/v1{precheck_of(m)}", more_pieces, 24),
    "desk api": ("official", lambda m: f"/api/v1/events/{m.event.pk}/desk", more_entries, 14),
    "weigh-ins api": ("official", lambda m: "/api/v1/weigh-ins", more_records, 14),
    "entries api": ("chief", lambda m: "/api/v1/entries", more_entries, 14),
    "findings api": ("chief", lambda m: "/api/v1/findings", more_records, 14),
}


@pytest.mark.parametrize("page", sorted(PAGES))
def test_one_row_and_three_cost_the_same(client: Client, meeting: Meeting, page: str) -> None:
    name, where, more, most = PAGES[page]
    meeting.weigh("318")
    look(meeting)
    client.force_login(getattr(meeting.people, name))
    one = asked(client, where(meeting))
    more(meeting)
    assert asked(client, where(meeting)) == one
    assert one <= most


def test_weighing_costs_the_same_however_much_is_on_record(
    client: Client, meeting: Meeting
) -> None:
    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            meeting.weigh("321")
        return len(queries)

    cost()
    first = cost()
    more_records(meeting)
    assert cost() == first
