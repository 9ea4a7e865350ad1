"""A piece whose weight is not what is marked on it, where the rules set no tolerance."""

from datetime import date
from typing import Any

import pytest
from django.test import Client

from clubsetup.access.viewer import viewing_as
from events.actions.rule_sets import draft_rule_set
from events.models import RuleSet
from tests.events.meeting import RULES, Meeting, make_meeting, mass
from tests.events.test_ballast_checks import look
from tests.people import People

NOTE = "marked 6 lb, weighs 12.5 lb. These rules do not say how true a marked weight must be."
UNTRUE: dict[str, Any] = {"marked_mass": mass("6 lb"), "weighed_mass": mass("12.5 lb")}


@pytest.mark.parametrize("name", ["official", "chief"])
def test_the_finding_says_so_and_is_what_it_was(
    client: Client, meeting: Meeting, name: str
) -> None:
    meeting.weigh("321")
    look(meeting, **UNTRUE)
    found = meeting.standing()["ballast_marked"]
    assert (found.outcome, found.rule_words) == (
        "meets",
        "Every piece of ballast marked with name or car number and its weight",
    )
    client.force_login(getattr(meeting.people, name))
    assert NOTE in client.get(f"/entries/{meeting.entry.pk}/").content.decode()


def test_what_is_true_enough_needs_no_word(meeting: Meeting) -> None:
    look(meeting, marked_mass=mass("6 lb"), weighed_mass=mass("6.2 lb"))
    assert meeting.standing()["ballast_marked"].sentence == "1 piece looked at, all in order."


def test_with_a_tolerance_it_fails(people: People) -> None:
    meeting = make_meeting(people, [("ballast_marked", {"agree_within": "0.1133980925"})])
    look(meeting, **UNTRUE)
    found = meeting.standing()["ballast_marked"]
    assert found.outcome == "fails"
    assert "These rules do not say" not in found.sentence


def next_version(meeting: Meeting) -> RuleSet:
    by = meeting.people.steward
    with viewing_as(by.pk):
        return draft_rule_set(
            by=by,
            race_class=meeting.race_class,
            valid_from=date(2027, 1, 1),
            copy_of=meeting.rule_set,
        )


def test_the_next_version_begins_with_a_tolerance_and_says_so(
    client: Client, meeting: Meeting
) -> None:
    draft, now = next_version(meeting), "and its weight, true to 0.25 lb</ins>"
    client.force_login(meeting.people.steward)
    text = client.get(f"/rule-sets/{draft.pk}/").content.decode()
    assert now in text  # among what changed
    with viewing_as(meeting.people.steward.pk):
        rule = draft.rules.get(kind="ballast_marked")
        old = meeting.rule_set.rules.get(kind="ballast_marked")
    assert 'value="0.25 lb"' in client.get(f"/rules/{rule.pk}/change").content.decode()
    # The version in force says what it said.
    assert old.parameters == {"weight_marked": True}
    assert "true to" not in client.get(f"/rule-sets/{meeting.rule_set.pk}/").content.decode()


def test_the_form_of_a_new_rule_is_filled_in(client: Client, people: People) -> None:
    draft = next_version(make_meeting(people, RULES[:1]))
    client.force_login(people.steward)
    text = client.get(f"/rule-sets/{draft.pk}/add/ballast_marked").content.decode()
    assert 'value="0.25 lb"' in text
    assert "Every piece must then be weighed." in text


def test_a_tolerance_of_the_clubs_own_is_kept(people: People) -> None:
    meeting = make_meeting(people, [("ballast_marked", {"agree_within": "0.05"})])
    draft = next_version(meeting)
    with viewing_as(people.steward.pk):
        assert draft.rules.get().parameters["agree_within"] == "0.05"
