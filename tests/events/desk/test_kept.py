"""What a device kept at the desk and sends: once, in its maker's name, with its time."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from events.actions.ballast import check_ballast, check_no_ballast
from events.actions.draws import draw_cars
from events.actions.measuring import measure_car
from events.actions.scale_checks import check_scales
from events.actions.voiding import void_weigh_in
from events.models import BallastCheck, Finding, Void, WeighIn
from events.records.actions.device_time import check_device_time
from events.records.actions.photos import photograph_ballast
from tests.events.meeting import Meeting
from tests.events.photographs import telling
from tests.events.test_ballast_checks import look
from tests.events.test_desk_pages import weigh_form

MADE = "2026-06-06T14:02:05.250Z"


@pytest.fixture
def official(client: Client, meeting: Meeting) -> Client:
    client.force_login(meeting.people.official)
    return client


def send(client: Client, path: str, sender: User, form: dict[str, Any]) -> Any:
    """As the desk's script does."""
    return client.post(path, form, headers={"Device-Sender": str(sender.pk)})


def send_weighing(client: Client, meeting: Meeting, form: dict[str, Any]) -> Any:
    path = f"/entries/{meeting.entry.pk}/weigh"
    return send(client, path, meeting.people.official, form)


def weigh_ins(meeting: Meeting) -> list[WeighIn]:
    with viewing_as(meeting.people.official.pk):
        return list(WeighIn.objects.order_by("created_at"))


def test_it_is_stored_once_with_both_times(official: Client, meeting: Meeting) -> None:
    form = weigh_form(meeting, device_at=MADE)
    first, again = (send_weighing(official, meeting, form) for _ in range(2))
    expected = {"status": "saved", "next": f"/entries/{meeting.entry.pk}/"}
    assert first.json() == again.json() == expected
    [kept] = weigh_ins(meeting)
    assert str(kept.pk) == form["row_id"]
    assert kept.device_at == datetime(2026, 6, 6, 14, 2, 5, 250_000, tzinfo=UTC)
    assert timezone.now() - kept.created_at < timedelta(minutes=5)
    with viewing_as(meeting.people.official.pk):
        assert set(Finding.objects.values_list("device_at", flat=True)) == {kept.device_at}
    page = official.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert "made without a connection at 6 Jun 2026 " in page


def test_sent_at_once_and_again_after_the_answer_was_lost(
    official: Client, meeting: Meeting
) -> None:
    form = weigh_form(meeting)
    assert send_weighing(official, meeting, form).json()["status"] == "saved"
    again = send_weighing(official, meeting, {**form, "device_at": MADE})
    assert again.json()["status"] == "saved"
    assert [kept.device_at for kept in weigh_ins(meeting)] == [None]


@pytest.mark.parametrize("made", ["yesterday", "2026-13-45T99:00:00Z", "2026-06-06T14:02:05"])
def test_a_time_that_is_none_is_left_out(official: Client, meeting: Meeting, made: str) -> None:
    send_weighing(official, meeting, weigh_form(meeting, device_at=made))
    assert [kept.device_at for kept in weigh_ins(meeting)] == [None]


def test_a_plain_form_says_nothing_of_a_device(official: Client, meeting: Meeting) -> None:
    path = f"/entries/{meeting.entry.pk}/weigh"
    assert official.post(path, weigh_form(meeting, device_at=MADE)).status_code == 302
    assert [kept.device_at for kept in weigh_ins(meeting)] == [None]


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"total": "heavy"}, "Total: "),
        ({"total": ""}, "Total: Give the four pads, or a total."),
        ({"device_at": "2999-01-01T00:00:00Z"}, "and that is still to come."),
        ({"device_at": "2026-05-01T00:00:00Z"}, "before June Meeting."),
    ],
)
def test_a_refusal_names_the_reason(
    official: Client, meeting: Meeting, changed: dict[str, str], says: str
) -> None:
    answer = send_weighing(official, meeting, weigh_form(meeting, **changed)).json()
    assert answer["status"] == "refused"
    assert says in answer["says"]
    assert weigh_ins(meeting) == []


def test_nobody_sends_what_somebody_else_made(client: Client, meeting: Meeting) -> None:
    client.force_login(meeting.people.steward)
    answer = send_weighing(client, meeting, weigh_form(meeting))
    assert (answer.status_code, answer.json()) == (409, {"status": "other"})
    client.logout()
    assert send_weighing(client, meeting, weigh_form(meeting)).status_code == 302
    assert weigh_ins(meeting) == []


@pytest.mark.parametrize(("who", "says"), [("chief", "official"), ("stranger", "not there")])
def test_who_may_not_is_told_in_the_list(
    client: Client, meeting: Meeting, who: str, says: str
) -> None:
    person = getattr(meeting.people, who)
    client.force_login(person)
    answer = send(client, f"/entries/{meeting.entry.pk}/weigh", person, weigh_form(meeting)).json()
    assert answer["status"] == "refused"
    assert says in answer["says"]
    assert weigh_ins(meeting) == []


def test_looks_and_voids_go_the_same_way(official: Client, meeting: Meeting) -> None:
    by, entry = meeting.people.official, meeting.rival_entry
    none = {"row_id": str(uuid4()), "device_at": MADE}
    seen = {
        **{"row_id": str(uuid4()), "label_legible": "yes", "label": "27", "fixed": "no"},
        "device_at": MADE,
    }
    for _ in range(2):
        assert send(official, f"/entries/{entry.pk}/no-ballast", by, none).json() == {
            "status": "saved",
            "next": f"/entries/{entry.pk}/#ballast",
        }
        send(official, f"/entries/{entry.pk}/ballast", by, seen)
    void = {"row_id": str(uuid4()), "reason": "Another car", "device_at": MADE}
    send(official, f"/ballast-checks/{none['row_id']}/void", by, void)
    late = send(official, f"/ballast-checks/{none['row_id']}/void", by, {**void, "row_id": uuid4()})
    assert late.json() == {"status": "refused", "says": "This ballast check is void already."}
    with viewing_as(by.pk):
        looks = BallastCheck.objects.order_by("created_at")
        assert [look.none_on_car for look in looks] == [True, False]
        made = [*looks, Void.objects.get()]
    assert all(one.device_at and one.device_at.minute == 2 for one in made)


def test_a_form_sent_back_and_changed_makes_another_record(
    official: Client, meeting: Meeting
) -> None:
    path, form = f"/entries/{meeting.entry.pk}/weigh", weigh_form(meeting)
    official.post(path, form)
    answer = official.post(path, {**form, "total": "322"})
    assert "This was sent before with something else in it" in answer.content.decode()
    offered = answer.context["form"]["row_id"].value()
    assert offered != form["row_id"]
    official.post(path, {**form, "total": "322", "row_id": offered})
    assert [kept.typed["car"] for kept in weigh_ins(meeting)] == ["321.4", "322"]


AT_ONCE = datetime(2999, 1, 1, tzinfo=UTC)
WRITES: dict[str, Callable[[Meeting, dict[str, Any]], Any]] = {
    "weigh": lambda m, given: m.weigh(**given),
    "look": lambda m, given: check_ballast(
        entry=m.entry, label_legible=False, fixed=True, by=m.people.official, **given
    ),
    "none": lambda m, given: check_no_ballast(entry=m.entry, by=m.people.official, **given),
    "photo": lambda m, given: photograph_ballast(
        by=m.people.official, ballast_check=look(m), photo=telling(), **given
    ),
    "measure": lambda m, given: measure_car(
        by=m.people.official,
        entry=m.entry,
        **{"measure": None, "spot": "left", "length": None},  # type: ignore[arg-type]
        **given,
    ),
    "void": lambda m, given: void_weigh_in(
        by=m.people.official, weigh_in=m.weigh(), reason="Not level", **given
    ),
    "draw": lambda m, given: draw_cars(
        by=m.people.official, event=m.event, seed="1", count=1, purpose="Ballast", **given
    ),
    "scales": lambda m, given: check_scales(
        by=m.people.official, scale_set=m.scales, loads=[], pads_level=True, **given
    ),
}


@pytest.mark.parametrize("write", WRITES)
def test_no_record_is_made_in_the_future(meeting: Meeting, write: str) -> None:
    with viewing_as(meeting.people.official.pk), pytest.raises(Invalid) as refused:
        WRITES[write](meeting, {"device_at": AT_ONCE})
    assert refused.value.field == "device_at"


@pytest.mark.parametrize(
    ("made", "stands"),
    [
        (timedelta(minutes=4), True),
        (timedelta(minutes=6), False),
        (timedelta(days=-1), True),
    ],
)
def test_a_clock_may_be_a_little_fast(made: timedelta, stands: bool) -> None:
    try:
        check_device_time(timezone.now() + made)
    except Invalid:
        assert not stands
    else:
        assert stands


def test_cars_are_weighed_on_the_evening_before_by_the_clubs_clock(meeting: Meeting) -> None:
    event = meeting.event
    event.club.time_zone = "America/Chicago"
    eve = datetime(2026, 6, 5, 5, 0, tzinfo=UTC)
    check_device_time(eve, event)
    with pytest.raises(Invalid):
        check_device_time(eve - timedelta(seconds=1), event)
