"""What cannot be undone asks first, naming the thing; starting on another day says so and asks."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clubsetup.access.viewer import viewing_as
from events.actions.events import AnotherDay, start_event
from events.models import Event, RuleSet
from tests.events.meeting import RULES, Meeting, make_meeting, publish_rules
from tests.people import People

pytestmark = pytest.mark.django_db


@pytest.fixture
def planned(people: People) -> Meeting:
    """June Meeting, on 6 and 7 June 2026."""
    return make_meeting(people, started=False)


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Callable[[datetime], None]:
    def set_clock(now: datetime) -> None:
        monkeypatch.setattr(timezone, "now", lambda: now)

    return set_clock


@pytest.fixture
def steward(client: Client, people: People) -> Client:
    client.force_login(people.steward)
    return client


def words(page: bytes) -> str:
    main = page.decode().split("<main", 1)[1].split("</main>", 1)[0]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", main))


def state_of(meeting: Meeting) -> str:
    with viewing_as(meeting.people.steward.pk):
        return Event.objects.get(pk=meeting.event.pk).state


NOON = datetime(2026, 6, 6, 12, tzinfo=UTC)
EARLY = datetime(2026, 5, 23, 12, tzinfo=UTC)
LATE = datetime(2026, 6, 8, 12, tzinfo=UTC)
API = "/api/v1/events/{}/start"


class TestStarting:
    def test_the_page_has_no_button_that_starts_at_once(
        self, planned: Meeting, steward: Client
    ) -> None:
        page = steward.get(reverse("event", args=[planned.event.pk])).content.decode()
        move = reverse("event-move", args=[planned.event.pk, "start"])
        assert f'href="{move}"' in page
        assert f'action="{move}"' not in page

    def test_on_its_day_it_asks_with_the_safe_answer_first(
        self, planned: Meeting, steward: Client, at: Callable[[datetime], None]
    ) -> None:
        at(NOON)
        move = reverse("event-move", args=[planned.event.pk, "start"])
        page = steward.get(move).content
        asked = words(page)
        assert "Start June Meeting?" in asked
        assert "does not go back to planned" in asked
        assert "Today is" not in asked
        assert asked.index("Not yet") < asked.rindex("Start June Meeting")
        assert b"<script" not in page.split(b"<main", 1)[1].split(b"</main>", 1)[0]
        assert state_of(planned) == "planned"
        steward.post(move)
        assert state_of(planned) == "under_way"

    @pytest.mark.parametrize(
        ("now", "says"),
        [
            (EARLY, "Today is 23 May 2026. June Meeting begins on 6 Jun 2026, in 14 days."),
            (LATE, "Today is 8 Jun 2026. The last day of June Meeting was 7 Jun 2026, 1 day ago"),
        ],
    )
    def test_on_another_day_it_says_so_and_takes_only_the_answer_to_that(
        self,
        planned: Meeting,
        steward: Client,
        at: Callable[[datetime], None],
        now: datetime,
        says: str,
    ) -> None:
        at(now)
        move = reverse("event-move", args=[planned.event.pk, "start"])
        asked = steward.get(move).content
        assert says in words(asked)
        assert "Start June Meeting all the same" in words(asked)
        # A page of before midnight, say: refused with the same words.
        refused = steward.post(move, follow=True).content
        assert says in refused.decode()
        assert state_of(planned) == "planned"
        sent = re.findall(r'name="(another_day)" value="(\w+)"', asked.decode())
        steward.post(move, dict(sent))
        assert state_of(planned) == "under_way"

    def test_the_day_is_the_club_s(
        self, planned: Meeting, steward: Client, at: Callable[[datetime], None]
    ) -> None:
        at(datetime(2026, 6, 5, 23, 30, tzinfo=UTC))
        move = reverse("event-move", args=[planned.event.pk, "start"])
        assert "Today is" in words(steward.get(move).content)
        with viewing_as(planned.people.steward.pk):
            planned.people.club.time_zone = "Pacific/Auckland"
            planned.people.club.save(update_fields=["time_zone"])
        assert "Today is" not in words(steward.get(move).content)

    def test_the_api_refuses_unless_it_is_meant(
        self, planned: Meeting, steward: Client, at: Callable[[datetime], None]
    ) -> None:
        at(EARLY)
        where = API.format(planned.event.pk)
        refused = steward.post(where, {}, "application/json")
        assert refused.status_code == 409
        told = refused.json()
        assert told["confirm"] == "another_day"
        assert "in 14 days" in told["detail"]
        assert state_of(planned) == "planned"
        wrong = steward.post(where, {"another_day": "perhaps"}, "application/json")
        assert wrong.status_code == 400
        done = steward.post(where, {"another_day": True}, "application/json")
        assert (done.status_code, done.json()["state"]) == (200, "under_way")

    def test_on_its_day_the_api_needs_no_word(
        self, planned: Meeting, steward: Client, at: Callable[[datetime], None]
    ) -> None:
        at(NOON)
        done = steward.post(API.format(planned.event.pk), {}, "application/json")
        assert done.json()["state"] == "under_way"

    def test_a_started_event_is_told_that_and_not_the_day(
        self, planned: Meeting, at: Callable[[datetime], None]
    ) -> None:
        at(EARLY)
        by = planned.people.steward
        with viewing_as(by.pk):
            event = start_event(by=by, event=planned.event, another_day=True)
            with pytest.raises(Exception, match="under way") as refusal:
                start_event(by=by, event=event)
        assert not isinstance(refusal.value, AnotherDay)


class TestEndingAndPublishing:
    def test_ending_before_its_last_day_says_so_and_can_be_undone_there(
        self, people: People, steward: Client, at: Callable[[datetime], None]
    ) -> None:
        meeting = make_meeting(people)
        at(NOON)
        move = reverse("event-move", args=[meeting.event.pk, "end"])
        asked = words(steward.get(move).content)
        assert "End June Meeting?" in asked
        assert "The last day of June Meeting is 7 Jun 2026." in asked
        assert asked.index("Go on") < asked.rindex("End June Meeting")
        after = steward.post(move, follow=True).content.decode()
        assert state_of(meeting) == "over"
        assert reverse("event-move", args=[meeting.event.pk, "reopen"]) in after
        steward.post(reverse("event-move", args=[meeting.event.pk, "reopen"]))
        assert state_of(meeting) == "under_way"

    def test_publishing_says_who_will_read_what(self, people: People, steward: Client) -> None:
        meeting = make_meeting(people)
        move = reverse("event-move", args=[meeting.event.pk, "publish"])
        asked = words(steward.get(move).content)
        assert "Publish the outcomes of June Meeting?" in asked
        assert "what was read by then, was read" in asked
        with viewing_as(people.steward.pk):
            assert not Event.objects.get(pk=meeting.event.pk).findings_published
        steward.post(move)
        with viewing_as(people.steward.pk):
            assert Event.objects.get(pk=meeting.event.pk).findings_published

    @pytest.mark.parametrize("step", ["reopen", "withhold"])
    def test_what_undoes_needs_no_page(self, people: People, steward: Client, step: str) -> None:
        meeting = make_meeting(people)
        move = reverse("event-move", args=[meeting.event.pk, step])
        assert steward.get(move).status_code == 405


class TestRetiringRules:
    def test_it_asks_and_says_what_holds_then(self, planned: Meeting, steward: Client) -> None:
        retire = reverse("rule-set-retire", args=[planned.rule_set.pk])
        asked = words(steward.get(retire).content)
        assert "Retire Junior, rules 1?" in asked
        assert "Junior then has no rules" in asked
        assert asked.index("Keep them in force") < asked.rindex("Retire version 1")
        assert self.state(planned.rule_set, planned) == "published"
        steward.post(retire)
        assert self.state(planned.rule_set, planned) == "retired"
        # There is nothing left to ask.
        assert steward.get(retire).status_code == 409

    def test_the_version_that_holds_instead_is_named(
        self, planned: Meeting, steward: Client
    ) -> None:
        second = publish_rules(
            planned.people, planned.race_class, RULES, valid_from=date(2026, 2, 1)
        )
        asked = words(steward.get(reverse("rule-set-retire", args=[second.pk])).content)
        assert "Version 1 holds for Junior then." in asked
        first = reverse("rule-set-retire", args=[planned.rule_set.pk])
        assert "does not change" in words(steward.get(first).content)

    def state(self, rule_set: RuleSet, meeting: Meeting) -> str:
        with viewing_as(meeting.people.steward.pk):
            return RuleSet.objects.get(pk=rule_set.pk).state
