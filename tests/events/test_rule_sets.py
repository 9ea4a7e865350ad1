"""Rule sets: drafted, filled, published, retired; what is published stays as it is."""

from datetime import date

import pytest
from django.db import DatabaseError, transaction

from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from events.actions.rule_sets import (
    add_rule,
    draft_rule_set,
    publish_rule_set,
    remove_rule,
    retire_rule_set,
    set_rule_set,
)
from events.models import Rule, RuleSet
from events.queries.rule_sets import rules_on
from teams.actions.places import add_race_class
from teams.models import RaceClass
from tests.events.meeting import RULES, publish_rules
from tests.people import People

SPRING, SUMMER, NEXT_YEAR = date(2026, 3, 1), date(2026, 6, 1), date(2027, 1, 1)


@pytest.fixture
def junior(people: People) -> RaceClass:
    with viewing_as(people.steward.pk):
        return add_race_class(by=people.steward, club=people.club, name="Junior")


@pytest.fixture
def draft(people: People, junior: RaceClass) -> RuleSet:
    with viewing_as(people.steward.pk):
        return draft_rule_set(by=people.steward, race_class=junior, valid_from=SPRING)


def on(people: People, junior: RaceClass, day: date) -> int | None:
    with viewing_as(people.chief.pk):
        found = rules_on(junior, day)
    return found.version if found else None


def test_a_rule_is_kept_as_its_kind_declares_it(people: People, draft: RuleSet) -> None:
    with viewing_as(people.steward.pk):
        rule = add_rule(
            by=people.steward,
            rule_set=draft,
            kind="minimum_weight",
            parameters={"minimum": "145.1495584"},
        )
    assert rule.parameters == {
        "minimum": "145.1495584", "with_driver": True, "fuel": "any", "stage": "any",
    }  # fmt: skip
    assert rule.order == 1


@pytest.mark.parametrize(
    ("kind", "parameters", "field"),
    [
        ("minimum_weight", {}, "minimum"),
        ("minimum_weight", {"minimum": "-3"}, "minimum"),
        ("minimum_weight", {"minimum": "heavy"}, "minimum"),
        ("minimum_weight", {"minimum": "100", "colour": "red"}, "colour"),
        ("left_limit", {}, "at_least"),
        ("left_limit", {"at_most": "140"}, "at_most"),
        ("guesswork", {}, "kind"),
    ],
)
def test_what_makes_no_rule_is_refused_by_name(
    people: People, draft: RuleSet, kind: str, parameters: dict[str, str], field: str
) -> None:
    with viewing_as(people.steward.pk), pytest.raises(Invalid) as refusal:
        add_rule(by=people.steward, rule_set=draft, kind=kind, parameters=parameters)
    assert refusal.value.field == field
    with viewing_as(people.steward.pk):
        assert not Rule.objects.exists()


def test_a_kind_that_stands_once_stands_once(people: People, draft: RuleSet) -> None:
    ages = {"at_least": 5, "at_most": 8}
    with viewing_as(people.steward.pk):
        add_rule(by=people.steward, rule_set=draft, kind="driver_age", parameters=ages)
        with pytest.raises(Invalid):
            add_rule(by=people.steward, rule_set=draft, kind="driver_age", parameters=ages)


def test_a_version_without_a_rule_is_not_published(people: People, draft: RuleSet) -> None:
    with viewing_as(people.steward.pk), pytest.raises(WrongState):
        publish_rule_set(by=people.steward, rule_set=draft)


def test_published_rules_do_not_change_by_any_action(people: People, junior: RaceClass) -> None:
    rule_set, by = publish_rules(people, junior, RULES), people.steward
    with viewing_as(by.pk):
        rule = rule_set.rules.first()
        assert rule is not None
        with pytest.raises(WrongState):
            add_rule(by=by, rule_set=rule_set, kind="ballast_fixed", parameters={})
        with pytest.raises(WrongState):
            remove_rule(by=by, rule=rule)
        with pytest.raises(WrongState):
            set_rule_set(by=by, rule_set=rule_set, valid_from=SUMMER, decision="guarded")
        with pytest.raises(WrongState):
            publish_rule_set(by=by, rule_set=rule_set)


def test_nor_past_the_actions(people: People, junior: RaceClass) -> None:
    """The database refuses what an action would."""
    rule_set = publish_rules(people, junior, RULES)

    def refused(write: object) -> None:
        assert callable(write)
        with viewing_as(people.steward.pk), pytest.raises(DatabaseError), transaction.atomic():
            write()

    rules, sets = Rule.objects.filter(rule_set=rule_set), RuleSet.objects.filter(pk=rule_set.pk)
    refused(lambda: rules.update(parameters={"minimum": "1"}))
    refused(rules.delete)
    refused(
        lambda: Rule.objects.create(
            rule_set=rule_set, club=people.club, order=9, kind="ballast_fixed", parameters={}
        )
    )
    refused(lambda: sets.update(valid_from=SUMMER))
    refused(lambda: sets.update(decision="guarded"))
    refused(lambda: sets.update(state="draft", published_at=None, published_by=None))
    refused(lambda: sets.update(version=7))
    refused(sets.delete)


def test_a_later_version_holds_from_its_day_and_the_earlier_until_then(
    people: People, junior: RaceClass
) -> None:
    publish_rules(people, junior, RULES, valid_from=SPRING)
    publish_rules(people, junior, RULES, valid_from=NEXT_YEAR)
    assert on(people, junior, date(2026, 2, 28)) is None
    assert on(people, junior, SPRING) == 1
    assert on(people, junior, date(2026, 12, 31)) == 1
    assert on(people, junior, NEXT_YEAR) == 2


def test_a_version_from_an_earlier_day_retires_what_it_replaces(
    people: People, junior: RaceClass
) -> None:
    first = publish_rules(people, junior, RULES, valid_from=SUMMER)
    publish_rules(people, junior, RULES, valid_from=SPRING)
    with viewing_as(people.steward.pk):
        first.refresh_from_db()
    assert first.state == "retired"
    assert on(people, junior, NEXT_YEAR) == 2


def test_a_retired_version_holds_no_longer(people: People, junior: RaceClass) -> None:
    rule_set = publish_rules(people, junior, RULES)
    with viewing_as(people.steward.pk):
        retire_rule_set(by=people.steward, rule_set=rule_set)
        with pytest.raises(WrongState):
            retire_rule_set(by=people.steward, rule_set=rule_set)
    assert on(people, junior, SUMMER) is None


def test_the_next_version_begins_with_the_rules_of_the_last(
    people: People, junior: RaceClass
) -> None:
    first = publish_rules(people, junior, RULES)
    with viewing_as(people.steward.pk):
        second = draft_rule_set(
            by=people.steward, race_class=junior, valid_from=SUMMER, copy_of=first
        )
        kinds = list(second.rules.values_list("kind", "parameters"))
        *same, (kind, marked) = first.rules.values_list("kind", "parameters")
        # But for a tolerance of the marked weight, which the last version had not set.
        assert kinds == [*same, (kind, {**marked, "agree_within": "0.1133980925"})]
    assert second.version == 2


def test_every_step_leaves_a_line_in_the_trail(people: People, junior: RaceClass) -> None:
    publish_rules(people, junior, RULES[:1])
    with viewing_as(people.steward.pk):
        did = TrailLine.objects.filter(on_kind__in=["events.ruleset", "events.rule"])
        assert sorted(did.values_list("did", flat=True)) == ["added", "drafted", "published"]


@pytest.mark.parametrize(
    "name", ["official", "coach", "unlinked_coach", "chief", "guest", "other_steward", "stranger"]
)
def test_nobody_but_the_clubs_steward_writes_rules(
    people: People, draft: RuleSet, name: str
) -> None:
    who = getattr(people, name)
    with viewing_as(people.steward.pk):
        draft.refresh_from_db()
        _ = draft.club, draft.race_class.club
    with viewing_as(who.pk):
        with pytest.raises(NotAllowed):
            add_rule(by=who, rule_set=draft, kind="ballast_fixed", parameters={})
        with pytest.raises(NotAllowed):
            draft_rule_set(by=who, race_class=draft.race_class, valid_from=SUMMER)
