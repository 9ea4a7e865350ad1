"""Events: planned, their classes with the rules frozen, started, ended, published."""

from datetime import date

import pytest
from django.db import DatabaseError, transaction

from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.viewer import viewing_as
from events.actions.events import (
    add_event_class,
    end_event,
    plan_event,
    publish_findings,
    remove_event_class,
    reopen_event,
    start_event,
)
from events.actions.scales import add_scale_set
from events.models import Event, EventClass
from events.queries.published import published_findings, start_list
from teams.actions.places import add_race_class
from tests.events.meeting import (
    FIRST_DAY,
    LAST_DAY,
    RULES,
    Meeting,
    make_meeting,
    mass,
    publish_rules,
)
from tests.people import People


@pytest.fixture
def planned(people: People) -> Meeting:
    return make_meeting(people, started=False)


def test_an_event_freezes_the_rules_of_its_first_day(planned: Meeting) -> None:
    people = planned.people
    assert planned.event_class.rule_set_id == planned.rule_set.pk
    publish_rules(people, planned.race_class, RULES[:1], valid_from=date(2026, 5, 1))
    with viewing_as(people.steward.pk):
        frozen = EventClass.objects.get(pk=planned.event_class.pk)
    assert frozen.rule_set_id == planned.rule_set.pk


def test_and_nobody_can_thaw_them(planned: Meeting) -> None:
    newer = publish_rules(planned.people, planned.race_class, RULES[:1])
    frozen = EventClass.objects.filter(pk=planned.event_class.pk)
    with viewing_as(planned.people.steward.pk), pytest.raises(DatabaseError), transaction.atomic():
        frozen.update(rule_set=newer)


def test_a_class_without_rules_that_day_is_not_run(planned: Meeting) -> None:
    by = planned.people.steward
    with viewing_as(by.pk):
        senior = add_race_class(by=by, club=planned.people.club, name="Senior")
    publish_rules(planned.people, senior, RULES, valid_from=date(2026, 6, 7))
    with viewing_as(by.pk), pytest.raises(WrongState):
        add_event_class(by=by, event=planned.event, race_class=senior)


def test_a_class_is_run_once(planned: Meeting) -> None:
    by = planned.people.steward
    with viewing_as(by.pk), pytest.raises(Invalid):
        add_event_class(by=by, event=planned.event, race_class=planned.race_class)


def test_a_class_with_entries_stays(planned: Meeting) -> None:
    by = planned.people.steward
    with viewing_as(by.pk), pytest.raises(WrongState):
        remove_event_class(by=by, event_class=planned.event_class)


def test_an_event_goes_from_planned_to_over_and_can_be_reopened(planned: Meeting) -> None:
    by, event = planned.people.steward, planned.event
    with viewing_as(by.pk):
        with pytest.raises(WrongState):
            end_event(by=by, event=event)
        assert start_event(by=by, event=event, another_day=True).state == "under_way"
        with pytest.raises(WrongState):
            start_event(by=by, event=event)
        assert end_event(by=by, event=event).state == "over"
        assert reopen_event(by=by, event=event).state == "under_way"


def test_two_stewards_pressing_start_start_it_once(planned: Meeting) -> None:
    by = planned.people.steward
    with viewing_as(by.pk):
        seen_by_another = Event.objects.get(pk=planned.event.pk)
        start_event(by=by, event=planned.event, another_day=True)
        with pytest.raises(WrongState, match="under way"):
            start_event(by=by, event=seen_by_another)


@pytest.mark.parametrize(
    ("changed", "field"),
    [({"ends_on": date(2026, 6, 5)}, "ends_on"), ({"name": " "}, "name")],
)
def test_what_is_no_event_is_refused(
    planned: Meeting, changed: dict[str, object], field: str
) -> None:
    given = {
        "by": planned.people.steward,
        "club": planned.people.club,
        "track": planned.track,
        "name": "July Meeting",
        "starts_on": FIRST_DAY,
        "ends_on": LAST_DAY,
        **changed,
    }
    with viewing_as(planned.people.steward.pk), pytest.raises(Invalid) as refusal:
        plan_event(**given)  # type: ignore[arg-type]
    assert refusal.value.field == field


@pytest.mark.parametrize(
    "name", ["official", "coach", "unlinked_coach", "chief", "crew", "guest", "rival"]
)
def test_nobody_but_a_steward_runs_events(planned: Meeting, name: str) -> None:
    who = getattr(planned.people, name)
    with viewing_as(who.pk):
        for act in (start_event, end_event, reopen_event, publish_findings):
            with pytest.raises(NotAllowed):
                act(by=who, event=planned.event)
        changed = Event.objects.filter(pk=planned.event.pk).update(state="over")
        assert changed == 0


def test_the_start_list_is_the_clubs(meeting: Meeting) -> None:
    people = meeting.people
    members = ("chief", "guest", "coach", "unlinked_coach", "rival", "official", "steward")
    for name in members:
        with viewing_as(getattr(people, name).pk):
            listed = [(e.number, e.display_name) for e in start_list(meeting.event.pk)]
        assert listed == [("27", "Robin"), ("31", "Sky")]
    for name in ("other_official", "other_steward", "stranger"):
        with viewing_as(getattr(people, name).pk):
            assert start_list(meeting.event.pk) == []
    with viewing_as(None):
        assert start_list(meeting.event.pk) == []


def test_outcomes_are_the_clubs_once_published_and_only_what_stands(meeting: Meeting) -> None:
    people = meeting.people
    meeting.weigh("318")
    meeting.weigh("321")
    with viewing_as(people.rival.pk):
        assert published_findings(meeting.event.pk) == []
    with viewing_as(people.steward.pk):
        publish_findings(by=people.steward, event=meeting.event)
    with viewing_as(people.rival.pk):
        found = published_findings(meeting.event.pk)
    weights = [f.outcome for f in found if f.rule_words.startswith("At least 320 lb")]
    assert weights == ["meets"]
    with viewing_as(people.stranger.pk):
        assert published_findings(meeting.event.pk) == []
    with viewing_as(people.steward.pk):
        publish_findings(by=people.steward, event=meeting.event, published=False)
    with viewing_as(people.rival.pk):
        assert published_findings(meeting.event.pk) == []


def test_nothing_about_a_child_is_published(people: People) -> None:
    meeting = make_meeting(
        people,
        [*RULES[:1], ("driver_age", {"at_most": 8}), ("driver_weight_band", {"at_most": "45"})],
    )
    meeting.weigh("321")
    with viewing_as(people.steward.pk):
        publish_findings(by=people.steward, event=meeting.event)
    with viewing_as(people.rival.pk):
        found = published_findings(meeting.event.pk)
    assert len(found) == 1
    assert "river aged" not in str(found)


@pytest.mark.parametrize(
    ("name", "division", "pads", "field"),
    [("Four pads", "0.2", 4, "name"), ("New", "0", 4, "division"), ("New", "0.2", 3, "pads")],
)
def test_what_is_no_scale_is_refused(
    meeting: Meeting, name: str, division: str, pads: int, field: str
) -> None:
    by = meeting.people.steward
    with viewing_as(by.pk), pytest.raises(Invalid) as refusal:
        add_scale_set(
            by=by, club=meeting.people.club, name=name, division=mass(division), pads=pads
        )
    assert refusal.value.field == field
