"""The official's pages: the queue, one car, weighing, ballast, voids."""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from events.models import BallastCheck, Entry, WeighIn
from tests.events.meeting import Meeting, pads
from tests.markup import one_line, plain


@pytest.fixture
def official(client: Client, meeting: Meeting) -> Client:
    client.force_login(meeting.people.official)
    return client


def as_(client: Client, who: User) -> Client:
    client.force_login(who)
    return client


def weigh_form(meeting: Meeting, **changed: Any) -> dict[str, Any]:
    """What the official's browser sends."""
    given: Mapping[str, Any] = {
        "row_id": str(uuid4()),
        "total": "321.4",
        "driver_in": "on",
        "stage": "entry",
        "scale_set": str(meeting.scales.pk),
        "fuel_note": "full",
        **changed,
    }
    return {k: v for k, v in given.items() if v is not None}


def test_the_queue_shows_every_entry_with_where_it_stands(
    official: Client, meeting: Meeting
) -> None:
    meeting.weigh("318.6")
    page = official.get(f"/events/{meeting.event.pk}/desk")
    assert page.status_code == 200
    text = plain(page.content.decode())
    assert "Robin" in text
    assert "Sky" in text
    assert "fails: 1.4 lb under 320 lb" in one_line(text)
    assert "1 waiting," in one_line(text)
    assert text.index("Sky") < text.index("Robin")  # who waits stands first


def test_a_number_typed_leads_straight_to_the_car(official: Client, meeting: Meeting) -> None:
    page = official.get(f"/events/{meeting.event.pk}/desk", {"q": "27"})
    assert page.status_code == 302
    assert page.headers["Location"] == f"/entries/{meeting.entry.pk}/"


def test_a_number_nobody_has_offers_to_enter_it_by_hand(official: Client, meeting: Meeting) -> None:
    page = official.get(f"/events/{meeting.event.pk}/desk", {"q": "99"})
    assert f"/events/{meeting.event.pk}/walk-in?car_number=99" in page.content.decode()


def test_weighing_shows_the_finding_at_once(official: Client, meeting: Meeting) -> None:
    page = official.post(f"/entries/{meeting.entry.pk}/weigh", weigh_form(meeting), follow=True)
    text = page.content.decode()
    assert "Meets, 1.4 lb over 320 lb" in text
    assert "± 0.231 lb" in text or "± 0.2 lb" in text
    with viewing_as(meeting.people.official.pk):
        assert WeighIn.objects.get().fuel_note == "full"


def test_four_pads_as_typed(official: Client, meeting: Meeting) -> None:
    typed = {"LF": "95.2", "RF": "72", "LR": "96.4", "RR": "70 lb", "total": ""}
    official.post(f"/entries/{meeting.entry.pk}/weigh", weigh_form(meeting, **typed))
    with viewing_as(meeting.people.official.pk):
        assert WeighIn.objects.get().typed["RR"] == "70 lb"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"total": "heavy"}, "heavy"),
        ({"total": ""}, "Give the four pads, or a total."),
        ({"total": "", "LF": "80"}, "Give all four pads, or a total."),
        ({"LF": "80"}, "not both"),
    ],
)
def test_what_cannot_be_kept_is_said_and_stays_typed(
    official: Client, meeting: Meeting, typed: dict[str, str], said: str
) -> None:
    page = official.post(f"/entries/{meeting.entry.pk}/weigh", weigh_form(meeting, **typed))
    assert page.status_code == 200
    text = page.content.decode()
    assert said in text
    for value in typed.values():
        assert f'value="{value}"' in text or not value
    with viewing_as(meeting.people.official.pk):
        assert not WeighIn.objects.exists()


def test_a_double_tap_makes_one_weigh_in(official: Client, meeting: Meeting) -> None:
    form = weigh_form(meeting)
    for _ in range(2):
        page = official.post(f"/entries/{meeting.entry.pk}/weigh", form)
        assert page.status_code == 302
    with viewing_as(meeting.people.official.pk):
        assert WeighIn.objects.count() == 1


def test_the_next_car_begins_with_this_ones_scales_and_stage(
    official: Client, meeting: Meeting
) -> None:
    changed = {"scale_set": str(meeting.platform.pk), "stage": "after"}
    official.post(f"/entries/{meeting.entry.pk}/weigh", weigh_form(meeting, **changed))
    text = official.get(f"/entries/{meeting.rival_entry.pk}/").content.decode()
    assert f'<option value="{meeting.platform.pk}" selected>' in text
    assert 'value="after" ' in text


def test_a_piece_the_team_keeps_is_offered_as_marked(official: Client, meeting: Meeting) -> None:
    page = official.get(f"/entries/{meeting.entry.pk}/ballast", {"piece": str(meeting.piece.pk)})
    assert 'value="4 lb"' in page.content.decode()


def test_a_look_at_a_piece_is_kept_and_found_on(official: Client, meeting: Meeting) -> None:
    sent = {
        "row_id": str(uuid4()),
        "piece": str(meeting.piece.pk),
        "label_legible": "yes",
        "label": "27",
        "marked_mass": "4 lb",
        "weighed_mass": "4.1 lb",
        "place": "left rail",
        "fixed": "yes",
    }
    page = official.post(f"/entries/{meeting.entry.pk}/ballast", sent)
    assert page.status_code == 302
    assert meeting.outcomes()["ballast_marked"] == "meets"
    text = official.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert "weighs 4.1 lb" in text


def test_neither_yes_nor_no_is_taken_for_granted(official: Client, meeting: Meeting) -> None:
    page = official.post(
        f"/entries/{meeting.entry.pk}/ballast", {"row_id": str(uuid4()), "label": "27"}
    )
    assert page.status_code == 200
    with viewing_as(meeting.people.official.pk):
        assert not BallastCheck.objects.exists()


def test_no_ballast_is_one_button(official: Client, meeting: Meeting) -> None:
    official.post(f"/entries/{meeting.rival_entry.pk}/no-ballast")
    assert meeting.outcomes(meeting.rival_entry)["ballast_marked"] == "meets"


def test_a_void_is_struck_through_with_its_reason(official: Client, meeting: Meeting) -> None:
    wrong = meeting.weigh("325")
    page = official.post(
        f"/weigh-ins/{wrong.pk}/void",
        {"row_id": str(uuid4()), "reason": "Another car's weight"},
        follow=True,
    )
    text = page.content.decode()
    assert '<li class="void">' in text
    assert "Another car&#x27;s weight" in text
    assert meeting.outcomes()["minimum_weight"] == "not_checked"


def test_entering_by_hand_asks_the_number_then_whose(official: Client, meeting: Meeting) -> None:
    with viewing_as(meeting.people.chief.pk):
        Entry.objects.get(pk=meeting.entry.pk)
    page = official.get(f"/events/{meeting.event.pk}/walk-in", {"car_number": "27"})
    text = page.content.decode()
    assert "Wrens" in text
    assert "Robin" not in text
    page = official.get(f"/events/{meeting.event.pk}/walk-in", {"car_number": "404"})
    assert "No team of Fernbank Oval Club has a car 404" in page.content.decode()


def test_the_family_sees_what_would_make_it_legal(client: Client, meeting: Meeting) -> None:
    meeting.weigh("318.6")
    page = as_(client, meeting.people.chief).get(f"/entries/{meeting.entry.pk}/")
    text = page.content.decode()
    assert "Add 1.4 lb of ballast, then weigh again." in text
    assert "Weigh in" not in text
    results = client.get(f"/teams/{meeting.people.team.pk}/results").content.decode()
    assert "Add 1.4 lb of ballast, then weigh again." in results


def test_pads_are_shown_as_they_were_typed(official: Client, meeting: Meeting) -> None:
    meeting.weigh(pads=pads("95.2", "72", "96.4", "70"))
    text = one_line(official.get(f"/entries/{meeting.entry.pk}/").content.decode())
    assert "LF 95.2, RF 72, LR 96.4, RR 70" in text


def test_the_queue_stands_beside_the_car_for_the_official_alone(
    client: Client, official: Client, meeting: Meeting
) -> None:
    meeting.weigh("321.4")
    text = one_line(official.get(f"/entries/{meeting.entry.pk}/").content.decode())
    assert 'aria-label="Queue"' in text
    assert f'href="/entries/{meeting.rival_entry.pk}/"' in text
    next_car = f"{meeting.rival_entry.number} {meeting.rival_entry.display_name}"
    assert f"Next: {next_car}" in text
    assert f"1 waiting, next {next_car}" in text
    family = as_(client, meeting.people.chief).get(f"/entries/{meeting.entry.pk}/")
    assert 'aria-label="Queue"' not in family.content.decode()


def test_who_is_on_the_scales_is_not_next_and_not_waiting(
    official: Client, meeting: Meeting
) -> None:
    text = one_line(official.get(f"/entries/{meeting.entry.pk}/").content.decode())
    assert text.count("on the scales") == 1
    assert f"next {meeting.entry.number} " not in text
    assert f"next {meeting.rival_entry.number} " in text


def test_the_verdict_says_the_weight_and_what_is_left_to_do(
    official: Client, meeting: Meeting
) -> None:
    meeting.weigh("318.6")
    text = one_line(official.get(f"/entries/{meeting.entry.pk}/").content.decode())
    assert "<b>Fails:</b> 318.6 lb, 1.4 lb under 320 lb; 2 rules not checked" in text
    assert "Add 1.4 lb of ballast, then weigh again." in text
    meeting.weigh("321.4")
    text = one_line(official.get(f"/entries/{meeting.entry.pk}/").content.decode())
    assert "<b>Not decided:</b> 321.4 lb, 1.4 lb over 320 lb; 2 rules not checked" in text
    assert "<b>Meets" not in text


def test_what_meets_is_folded_and_what_does_not_is_open(official: Client, meeting: Meeting) -> None:
    meeting.weigh("321.4")
    text = one_line(official.get(f"/entries/{meeting.entry.pk}/").content.decode())
    folded = text[text.index('<details class="met">') :].partition("</details>")[0]
    assert "1 rule meets" in folded
    assert "321.4 lb is 1.4 lb over the least allowed, 320 lb." in folded
    assert "Not checked" not in folded
