"""Nobody is led to a page or a form that would refuse them."""

from django.test import Client

from clubsetup.access.viewer import viewing_as
from events.actions.voiding import void_weigh_in
from tests.events.meeting import Meeting


def test_only_who_may_check_scales_is_led_there(client: Client, meeting: Meeting) -> None:
    led = {}
    for name in ("official", "steward"):
        client.force_login(getattr(meeting.people, name))
        text = client.get(f"/events/{meeting.event.pk}/desk").content.decode()
        assert "not checked today" in text
        led[name] = f"/scale-sets/{meeting.scales.pk}/check" in text
    assert led == {"official": True, "steward": False}


def test_a_published_version_has_no_form_for_rules(client: Client, meeting: Meeting) -> None:
    client.force_login(meeting.people.steward)
    page = client.get(f"/rule-sets/{meeting.rule_set.pk}/add/minimum_weight")
    assert page.status_code == 409
    assert "Published rules do not change" in page.content.decode()


def test_what_is_void_has_no_form_to_void_it(client: Client, meeting: Meeting) -> None:
    weigh_in, by = meeting.weigh("321"), meeting.people.official
    client.force_login(by)
    address = f"/weigh-ins/{weigh_in.pk}/void"
    assert client.get(address).status_code == 200
    with viewing_as(by.pk):
        void_weigh_in(by=by, weigh_in=weigh_in, reason="Wrong car")
    page = client.get(address)
    assert page.status_code == 409
    assert "void already" in page.content.decode()
