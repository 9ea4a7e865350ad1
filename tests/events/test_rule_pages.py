"""The steward's form for rules, and the family's reading of them."""

import pytest
from django.test import Client
from django.utils.html import escape

from clubsetup.access.viewer import viewing_as
from events.actions.rule_sets import draft_rule_set
from events.models import Rule, RuleSet
from events.rules import KINDS
from teams.actions.clubs import set_club_units
from tests.events.meeting import FIRST_DAY, Meeting


@pytest.fixture
def draft(meeting: Meeting) -> RuleSet:
    by = meeting.people.steward
    with viewing_as(by.pk):
        return draft_rule_set(by=by, race_class=meeting.race_class, valid_from=FIRST_DAY)


@pytest.fixture
def steward(client: Client, meeting: Meeting) -> Client:
    client.force_login(meeting.people.steward)
    return client


def rules_of(draft: RuleSet, meeting: Meeting) -> list[Rule]:
    with viewing_as(meeting.people.steward.pk):
        return list(Rule.objects.filter(rule_set=draft))


def test_every_kind_is_offered_on_a_draft(steward: Client, draft: RuleSet) -> None:
    text = steward.get(f"/rule-sets/{draft.pk}/").content.decode()
    for kind in KINDS.values():
        assert f"/add/{kind.kind}" in text
        assert escape(kind.title) in text


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_its_form_shows_a_car_that_passes_and_one_that_fails(
    steward: Client, draft: RuleSet, kind: str
) -> None:
    text = steward.get(f"/rule-sets/{draft.pk}/add/{kind}").content.decode()
    assert escape(KINDS[kind].title) in text
    assert "A car inside the rule" in text
    assert text.index("Meets") < text.index("Fails")


def test_trying_shows_the_rule_as_typed_and_adds_nothing(
    steward: Client, draft: RuleSet, meeting: Meeting
) -> None:
    sent = {"minimum": "250 lb", "with_driver": "on", "stage": "any", "try": "1"}
    text = steward.post(f"/rule-sets/{draft.pk}/add/minimum_weight", sent).content.decode()
    assert "At least 250 lb with the driver" in text
    assert "over the least allowed, 250 lb" in text
    assert rules_of(draft, meeting) == []


def test_a_rule_is_added_as_typed(steward: Client, draft: RuleSet, meeting: Meeting) -> None:
    sent = {"minimum": "250 lb", "stage": "entry"}
    page = steward.post(f"/rule-sets/{draft.pk}/add/minimum_weight", sent, follow=True)
    assert "At least 250 lb without the driver before the race" in page.content.decode()
    (rule,) = rules_of(draft, meeting)
    assert rule.parameters == {
        "minimum": "113.3980925", "with_driver": False, "fuel": "any", "stage": "entry",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "sent", "said"),
    [
        ("minimum_weight", {"minimum": "lots", "stage": "any"}, "lots"),
        (
            "minimum_weight",
            {"minimum": "-2 lb", "stage": "any"},
            "Minimum must be from 100 lb to 1500 lb, not -2 lb.",
        ),
        (
            "left_limit",
            {"at_least": "", "at_most": ""},
            "Least is needed where the other end is left empty.",
        ),
        ("left_limit", {"at_least": "58", "at_most": "52"}, "Most must not be below least."),
        (
            "driver_age",
            {"at_least": "200", "reckoned": "event_day"},
            "Youngest must be from 4 to 21, not 200.",
        ),
    ],
)
@pytest.mark.parametrize("button", [{}, {"try": "1"}])
def test_what_makes_no_rule_is_said_beside_its_box(
    steward: Client,
    draft: RuleSet,
    meeting: Meeting,
    kind: str,
    sent: dict[str, str],
    said: str,
    button: dict[str, str],
) -> None:
    page = steward.post(f"/rule-sets/{draft.pk}/add/{kind}", {**sent, **button})
    assert page.status_code == 200
    assert said in page.content.decode()
    assert rules_of(draft, meeting) == []


def test_a_kind_nobody_knows_is_not_found(steward: Client, draft: RuleSet) -> None:
    assert steward.get(f"/rule-sets/{draft.pk}/add/guesswork").status_code == 404


def test_the_words_are_in_the_readers_units(client: Client, meeting: Meeting) -> None:
    people = meeting.people
    with viewing_as(people.steward.pk):
        set_club_units(by=people.steward, club=people.club, units={"mass": "kg"})
    client.force_login(people.chief)
    text = client.get(f"/rule-sets/{meeting.rule_set.pk}/").content.decode()
    assert "At least 145.15 kg" in text


def test_publishing_from_the_page(steward: Client, draft: RuleSet, meeting: Meeting) -> None:
    answer = steward.post(f"/rule-sets/{draft.pk}/publish", {"past": "on"}, follow=True)
    empty = answer.content.decode()
    assert "Add a rule first." in empty
    steward.post(f"/rule-sets/{draft.pk}/add/ballast_fixed", {})
    steward.post(f"/rule-sets/{draft.pk}/publish", {"past": "on"})
    with viewing_as(meeting.people.steward.pk):
        draft.refresh_from_db()
    assert draft.state == "published"
    text = steward.get(f"/rule-sets/{draft.pk}/").content.decode()
    assert "Take out" not in text
