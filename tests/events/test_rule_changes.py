"""A draft's rules changed in their place, and what a version says that it changes."""

from datetime import date
from typing import Any

import pytest
from django.test import Client

from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from events.actions.rule_sets import (
    add_rule,
    change_rule,
    draft_rule_set,
    publish_rule_set,
    remove_rule,
)
from events.models import Rule, RuleSet
from tests.events.meeting import FIRST_DAY, Meeting
from tests.markup import one_line

LIVE: dict[str, Any] = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def draft(meeting: Meeting) -> RuleSet:
    """The next version, with the rules of the first."""
    by = meeting.people.steward
    with viewing_as(by.pk):
        return draft_rule_set(
            by=by, race_class=meeting.race_class, valid_from=FIRST_DAY, copy_of=meeting.rule_set
        )


@pytest.fixture
def steward(client: Client, meeting: Meeting) -> Client:
    client.force_login(meeting.people.steward)
    return client


def rule(meeting: Meeting, draft: RuleSet, kind: str = "minimum_weight") -> Rule:
    with viewing_as(meeting.people.steward.pk):
        return Rule.objects.select_related("rule_set__club").get(rule_set=draft, kind=kind)


def test_a_rule_is_changed_in_its_place(meeting: Meeting, draft: RuleSet) -> None:
    by, before = meeting.people.steward, rule(meeting, draft)
    with viewing_as(by.pk):
        change_rule(by=by, rule=before, parameters={"minimum": "150"})
        trail = TrailLine.objects.get(on_kind="events.rule", did="changed")
    after = rule(meeting, draft)
    assert (after.pk, after.order) == (before.pk, before.order)
    assert after.parameters["minimum"] == "150"
    assert trail.detail["parameters"]["minimum"] == "150"


@pytest.mark.parametrize(
    ("parameters", "field", "said"),
    [
        ({"minimum": "0.001"}, "minimum", "Minimum must be from 100 lb to 1500 lb, not 0.002 lb."),
        ({}, "minimum", "Minimum is needed."),
    ],
)
def test_a_change_is_refused_as_an_addition_is(
    meeting: Meeting, draft: RuleSet, parameters: dict[str, str], field: str, said: str
) -> None:
    by, before = meeting.people.steward, rule(meeting, draft)
    with viewing_as(by.pk), pytest.raises(Invalid) as refusal:
        change_rule(by=by, rule=before, parameters=parameters)
    assert (refusal.value.field, refusal.value.message) == (field, said)
    assert rule(meeting, draft).parameters == before.parameters


def test_a_change_may_not_make_a_second_of_the_same(meeting: Meeting, draft: RuleSet) -> None:
    by, other = meeting.people.steward, {"minimum": "150", "stage": "after"}
    with viewing_as(by.pk):
        second = add_rule(by=by, rule_set=draft, kind="minimum_weight", parameters=other)
        change_rule(by=by, rule=second, parameters={**other, "minimum": "151"})
        with pytest.raises(Invalid) as refusal:
            change_rule(by=by, rule=second, parameters={"minimum": "150"})
    assert refusal.value.message == (
        "Minimum weight stands already in this version: change that rule, or take it out."
    )


def test_published_rules_are_not_changed(meeting: Meeting) -> None:
    by = meeting.people.steward
    with viewing_as(by.pk), pytest.raises(WrongState):
        change_rule(by=by, rule=rule(meeting, meeting.rule_set), parameters={"minimum": "150"})


@pytest.mark.parametrize("name", ["official", "coach", "chief", "guest", "stranger"])
def test_nobody_but_a_steward_changes_a_rule(meeting: Meeting, draft: RuleSet, name: str) -> None:
    who, one = getattr(meeting.people, name), rule(meeting, draft)
    with viewing_as(who.pk), pytest.raises(NotAllowed):
        change_rule(by=who, rule=one, parameters={"minimum": "150"})


@pytest.mark.parametrize(
    ("kind", "parameters", "field"),
    [
        ("required_reading", {"measure": "guesswork"}, "measure"),
        ("required_reading", {"measure": "camber"}, "measure"),
        ("length_limit", {"measure": "rear-bar", "spot": "LF", "at_most": "300"}, "spot"),
    ],
)
def test_a_rule_that_nobody_could_ever_check_is_refused(
    meeting: Meeting, draft: RuleSet, kind: str, parameters: dict[str, str], field: str
) -> None:
    by = meeting.people.steward
    with viewing_as(by.pk), pytest.raises(Invalid) as refusal:
        add_rule(by=by, rule_set=draft, kind=kind, parameters=parameters)
    assert refusal.value.field == field


def test_an_absurd_rule_of_old_is_not_published_again(meeting: Meeting, draft: RuleSet) -> None:
    by, one = meeting.people.steward, rule(meeting, draft)
    with viewing_as(by.pk):
        Rule.objects.filter(pk=one.pk).update(parameters={"minimum": "0.001"})
        with pytest.raises(WrongState, match="Minimum must be from 100 lb to 1500 lb"):
            publish_rule_set(by=by, rule_set=draft)


def test_the_page_changes_a_rule_from_what_it_says(
    steward: Client, meeting: Meeting, draft: RuleSet
) -> None:
    where = f"/rules/{rule(meeting, draft).pk}/change"
    assert 'value="320 lb"' in steward.get(where).content.decode()
    steward.post(where, {"minimum": "325", "with_driver": "on", "fuel": "any", "stage": "any"})
    assert rule(meeting, draft).parameters["minimum"] == "147.41752025"


def test_keeping_it_as_it_stands_alters_nothing_in_other_units(
    steward: Client, meeting: Meeting, draft: RuleSet
) -> None:
    person = meeting.people.steward
    person.preferred_units = {"mass": "kg"}
    with viewing_as(person.pk):
        person.save()
    before = rule(meeting, draft)
    text = steward.get(f"/rules/{before.pk}/change").content.decode()
    typed = text.split('name="minimum" value="')[1].split('"')[0]
    steward.post(f"/rules/{before.pk}/change", {"minimum": typed, "with_driver": "on"})
    assert rule(meeting, draft).parameters["minimum"] == before.parameters["minimum"]


def test_while_typing_the_example_cars_answer(
    steward: Client, meeting: Meeting, draft: RuleSet
) -> None:
    where = f"/rules/{rule(meeting, draft).pk}/change"
    sent = {"minimum": "300 lb", "with_driver": "on", "try": "1"}
    text = steward.post(where, sent, **LIVE).content.decode()
    assert "<html" not in text
    assert "302 lb is 2 lb over the least allowed, 300 lb." in text
    assert "298 lb is 2 lb under the least allowed, 300 lb." in text
    said = steward.post(where, {**sent, "minimum": "9000"}, **LIVE).content.decode()
    assert "Not a rule yet" in said
    assert "Minimum must be from 100 lb to 1500 lb, not 9000 lb." in said
    assert rule(meeting, draft).parameters["minimum"] == "145.1495584"


def test_what_changed_since_the_version_before(
    steward: Client, meeting: Meeting, draft: RuleSet
) -> None:
    where, by = f"/rule-sets/{draft.pk}/", meeting.people.steward
    assert "true to 0.25 lb</ins>" in steward.get(where).content.decode()
    with viewing_as(by.pk):
        change_rule(by=by, rule=rule(meeting, draft, "ballast_marked"), parameters={})
    assert "No rule." in steward.get(where).content.decode()
    with viewing_as(by.pk):
        change_rule(by=by, rule=rule(meeting, draft), parameters={"minimum": "158.7573295"})
        remove_rule(by=by, rule=rule(meeting, draft, "left_limit"))
        add_rule(by=by, rule_set=draft, kind="ballast_fixed", parameters={})
    text = one_line(steward.get(where).content.decode())
    assert "What changed since version 1" in text
    least = "with the driver, fuel as it comes"
    assert f"<del>At least 320 lb {least}</del> <ins>At least 350 lb {least}</ins>" in text
    assert "<b>Gone</b>: <del>Left side at most 58% of the weight</del>" in text
    assert "<b>New</b>: <ins>Every piece of ballast fixed" in text


def test_the_next_version_may_begin_with_any_or_none(
    steward: Client, meeting: Meeting, draft: RuleSet
) -> None:
    where = f"/classes/{meeting.race_class.pk}/rules/new"
    sent = {"valid_from": "2027-01-01", "decision": "guarded"}
    steward.post(where, {**sent, "copy_of": ""})
    steward.post(where, {**sent, "copy_of": str(meeting.rule_set.pk)})
    with viewing_as(meeting.people.steward.pk):
        third, fourth = RuleSet.objects.filter(version__gt=2).order_by("version")
        assert (third.rules.count(), fourth.rules.count()) == (0, 3)
    text = steward.get(f"/rule-sets/{fourth.pk}/?since=1").content.decode()
    assert "What changed since version 1" in text
    assert "<ins>With a guard band</ins>" in text


def test_the_api_says_the_same_changes(steward: Client, meeting: Meeting, draft: RuleSet) -> None:
    by = meeting.people.steward
    with viewing_as(by.pk):
        remove_rule(by=by, rule=rule(meeting, draft, "left_limit"))
        third = draft_rule_set(by=by, race_class=meeting.race_class, valid_from=date(2027, 3, 1))
    where = f"/api/v1/rule-sets/{third.pk}/changes"
    since_first = steward.get(where, {"since": 1}).json()
    assert since_first["earlier"] == str(meeting.rule_set.pk)
    assert len(since_first["rules"]) == 3
    assert all(one["now"] == "" for one in since_first["rules"])
    assert steward.get(where).json()["earlier"] == str(draft.pk)
    first = steward.get(f"/api/v1/rule-sets/{meeting.rule_set.pk}/changes").json()
    assert first == {"earlier": None, "rules": [], "decision": None}
