"""Scale checks over the API: made once, read by the club, never changed."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from tests.events.desk.conftest import EVERYBODY, MEMBERS
from tests.events.meeting import Meeting

URL = "/api/v1/scale-checks"
FOUR = ("LF", "RF", "LR", "RR")


def body(meeting: Meeting, **changed: Any) -> dict[str, Any]:
    loads = [{"pad": pad, "reference": "80 lb", "indicated": "80.2"} for pad in FOUR]
    given = {"scale_set": str(meeting.scales.pk), "loads": loads, "pads_level": True}
    return {**given, **changed}


def send(client: Client, meeting: Meeting, who: str, **changed: Any) -> Any:
    client.force_login(getattr(meeting.people, who))
    return client.post(URL, body(meeting, **changed), content_type="application/json")


def test_an_official_keeps_a_check_once(client: Client, meeting: Meeting) -> None:
    chosen = str(uuid4())
    first = send(client, meeting, "official", id=chosen)
    assert first.status_code == 201, first.content
    made = first.json()
    assert made["passed"] is True
    assert made["loads"][0]["typed"] == {"reference": "80 lb", "indicated": "80.2"}
    assert send(client, meeting, "official", id=chosen).status_code == 200
    assert send(client, meeting, "official", id=chosen, pads_level=False).status_code == 409
    assert len(client.get(URL).json()["results"]) == 1


def test_a_weigh_in_names_its_check(client: Client, meeting: Meeting) -> None:
    made = send(client, meeting, "official").json()
    meeting.weigh("321")
    found = client.get("/api/v1/weigh-ins").json()["results"][0]
    assert found["scale_check"] == made["id"]
    assert set(found["corrections"]) == set(FOUR)
    assert found["corrected"] is False


@pytest.mark.parametrize("who", [n for n in EVERYBODY if n != "official"])
def test_nobody_else_keeps_one(client: Client, meeting: Meeting, who: str) -> None:
    # To whom the scales are not visible they do not exist: the id is no choice.
    assert send(client, meeting, who).status_code == (403 if who in MEMBERS else 400)


@pytest.mark.parametrize("who", EVERYBODY)
def test_the_club_reads_it(client: Client, meeting: Meeting, who: str) -> None:
    made = send(client, meeting, "official").json()
    client.force_login(getattr(meeting.people, who))
    status = client.get(f"{URL}/{made['id']}").status_code
    assert status == (200 if who in MEMBERS else 404)
    assert client.delete(f"{URL}/{made['id']}").status_code == 405
    assert client.patch(f"{URL}/{made['id']}").status_code == 405


def test_signed_out_is_nobody(client: Client, meeting: Meeting) -> None:
    assert client.get(URL).status_code in (401, 403)


@pytest.mark.parametrize(
    "changed",
    [{"loads": []}, {"pads_level": None}, {"loads": [{"pad": "LF", "reference": "80 lb"}]}],
)
def test_what_is_no_check_is_refused(client: Client, meeting: Meeting, changed: Any) -> None:
    assert send(client, meeting, "official", **changed).status_code == 400
