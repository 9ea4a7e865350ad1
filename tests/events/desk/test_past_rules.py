"""Rules that hold from a day that has passed are published only by who says so twice."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from clubsetup.access.viewer import viewing_as
from events.actions.rule_sets import draft_rule_set
from events.models import RuleSet
from tests.events.meeting import Meeting
from tests.markup import one_line

ASKED = "Holds from a day that has passed; events already begun keep what they froze."


@pytest.mark.parametrize(
    ("days", "sent", "state"),
    [
        (-1, {}, "draft"),
        (-1, {"past": "on"}, "published"),
        (0, {}, "published"),
    ],
)
def test_a_past_day_is_asked_about(
    client: Client, meeting: Meeting, days: int, sent: dict[str, str], state: str
) -> None:
    by = meeting.people.steward
    with viewing_as(by.pk):
        draft = draft_rule_set(
            by=by,
            race_class=meeting.race_class,
            valid_from=timezone.localdate() + timedelta(days=days),
            copy_of=meeting.rule_set,
        )
    client.force_login(by)
    text = one_line(client.get(f"/rule-sets/{draft.pk}/").content.decode())
    assert "Published rules never change" in text
    assert (ASKED in text) == (days < 0)
    client.post(f"/rule-sets/{draft.pk}/publish", sent)
    with viewing_as(by.pk):
        assert RuleSet.objects.get(pk=draft.pk).state == state
