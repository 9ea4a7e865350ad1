"""No ballast, pieces that are not on the car, how many were looked at: as people see it."""

import io
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pypdf
import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from rest_framework.test import APIClient

from cars.garage.actions.ballast import add_ballast_piece
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.registry import document_for
from clubsetup.printing.render import Source, render
from events.actions.ballast import check_ballast, record_not_on_car
from events.actions.events import publish_findings
from events.models import BallastCheck
from events.records.queries.records import records_of
from tests.events.desk.test_kept import send
from tests.events.meeting import RULES, Meeting, make_meeting, mass
from tests.events.test_ballast_checks import look
from tests.made_once import MadeOnce
from tests.markup import one_line
from tests.people import People

API = "/api/v1"
STANDS = "Record each as not on the car, with the reason"


@pytest.fixture(scope="module")
def meeting_once(once: Callable[..., MadeOnce[Meeting]]) -> MadeOnce[Meeting]:
    return once(lambda people: make_meeting(people, [*RULES, ("ballast_fixed", {})]))


@pytest.fixture
def official(client: Client, meeting: Meeting) -> Client:
    client.force_login(meeting.people.official)
    return client


@pytest.fixture
def two(meeting: Meeting) -> Meeting:
    """Two pieces on the family's list, one of them looked at and in order; weighed and legal."""
    chief = meeting.people.chief
    with viewing_as(chief.pk):
        add_ballast_piece(
            by=chief,
            team=meeting.people.team,
            label="27b",
            marked_mass=mass("2 lb"),
            car=meeting.car,
        )
    meeting.weigh(pads={"LF": mass("76"), "RF": mass("68"), "LR": mass("110"), "RR": mass("67")})
    look(meeting)
    return meeting


def page(client: Client, where: str) -> str:
    return client.get(where).content.decode()


TICKED = '<i class="to-tick"><svg'


def html_of(meeting: Meeting, key: str) -> str:
    with viewing_as(meeting.people.official.pk):
        document: Any = document_for(key)
        html: str = document.html(document.subject(meeting.event.pk), meeting.people.official)
    return html


def printed(meeting: Meeting, key: str) -> str:
    made = render(Source(html_of(meeting, key), document_for(key).styles))
    return "".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(made.content)).pages)


# No ballast on the car


@pytest.mark.parametrize("looked", [False, True])
def test_the_page_refuses_no_ballast_while_a_piece_stands(
    official: Client, meeting: Meeting, looked: bool
) -> None:
    if looked:
        look(meeting, fixed=False)
    meeting.weigh()
    before = meeting.outcomes()
    where = f"/entries/{meeting.entry.pk}/"
    assert "No ballast on the car</button>" not in page(official, where)
    answer = official.post(f"{where}no-ballast", follow=True)
    assert STANDS in answer.content.decode()
    assert meeting.outcomes() == before


def test_so_does_the_api(meeting: Meeting) -> None:
    look(meeting, fixed=False)
    client = APIClient()
    client.force_login(meeting.people.official)
    sent = {"entry": str(meeting.entry.pk), "none_on_car": True}
    answer = client.post(f"{API}/ballast-checks", sent, format="json")
    assert answer.status_code == 400
    assert STANDS in answer.content.decode()
    assert meeting.outcomes()["ballast_fixed"] == "fails"
    off = {"entry": str(meeting.entry.pk), "not_on_car": True, "piece": str(meeting.piece.pk)}
    assert client.post(f"{API}/ballast-checks", off, format="json").status_code == 400
    answer = client.post(f"{API}/ballast-checks", {**off, "reason": "Sold"}, format="json")
    assert answer.status_code == 201, answer.content
    assert (answer.json()["not_on_car"], answer.json()["reason"]) == (True, "Sold")
    assert client.post(f"{API}/ballast-checks", sent, format="json").status_code == 201


@pytest.mark.parametrize(
    "sent",
    [
        {"not_on_car": True, "none_on_car": True},
        {"reason": "Sold", "label_legible": True, "label": "27", "fixed": True},
    ],
)
def test_what_says_two_things_is_refused(meeting: Meeting, sent: dict[str, Any]) -> None:
    client = APIClient()
    client.force_login(meeting.people.official)
    given = {"entry": str(meeting.entry.pk), **sent}
    assert client.post(f"{API}/ballast-checks", given, format="json").status_code == 400


def row(meeting: Meeting, **fields: Any) -> dict[str, Any]:
    return {
        "entry": meeting.entry,
        "club": meeting.people.club,
        "team": meeting.people.team,
        "by": meeting.people.official,
        "label_legible": False,
        "fixed": True,
        **fields,
    }


def test_past_the_action_the_database_refuses_it_too(meeting: Meeting) -> None:
    official = meeting.people.official
    with viewing_as(official.pk):
        for _ in ("listed", "looked at"):
            with (
                pytest.raises(IntegrityError, match="stands as on the car"),
                transaction.atomic(),
            ):
                BallastCheck.objects.create(**row(meeting, none_on_car=True))
            check_ballast(
                by=official, entry=meeting.entry, label_legible=True, label="27", fixed=False
            )
        looks = list(BallastCheck.objects.filter(entry=meeting.entry))
        for what in ({"piece": meeting.piece}, *({"look": one} for one in looks)):
            record_not_on_car(by=official, entry=meeting.entry, reason="Off", **what)  # type: ignore[arg-type]
        with transaction.atomic():
            assert BallastCheck.objects.create(**row(meeting, none_on_car=True))
            transaction.set_rollback(True)  # it has no line in the chain


@pytest.mark.parametrize(
    "fields",
    [
        {"not_on_car": True, "reason": "Sold"},
        {"not_on_car": True, "piece": True},
        {"not_on_car": True, "piece": True, "reason": "Sold", "none_on_car": True},
        {"piece": True, "reason": "Sold"},
    ],
)
def test_the_database_wants_a_piece_and_a_reason(meeting: Meeting, fields: dict[str, Any]) -> None:
    given = {**fields, **({"piece": meeting.piece} if "piece" in fields else {})}
    with (
        viewing_as(meeting.people.official.pk),
        pytest.raises(IntegrityError),
        transaction.atomic(),
    ):
        BallastCheck.objects.create(**row(meeting, **given))


def test_what_waited_on_the_device_is_refused_there_and_kept_there(
    client: Client, meeting: Meeting
) -> None:
    by, where = meeting.people.official, f"/entries/{meeting.entry.pk}"
    client.force_login(by)
    answer = send(client, f"{where}/no-ballast", by, {"row_id": str(uuid4())}).json()
    assert answer["status"] == "refused"
    assert STANDS in answer["says"]
    off = {"row_id": str(uuid4()), "piece": str(meeting.piece.pk), "reason": ""}
    answer = send(client, f"{where}/not-on-car", by, off).json()
    assert answer["says"].startswith("Why it is not on the car: ")
    for _ in range(2):
        answer = send(client, f"{where}/not-on-car", by, {**off, "reason": "Sold"}).json()
        assert answer == {"status": "saved", "next": f"{where}/#ballast"}
    assert send(client, f"{where}/no-ballast", by, {"row_id": str(uuid4())}).json()["status"] == (
        "saved"
    )
    with viewing_as(by.pk):
        assert BallastCheck.objects.count() == 2


def test_a_piece_is_taken_off_from_the_page(official: Client, meeting: Meeting) -> None:
    seen = look(meeting, piece=None, label="27c")
    where = f"/entries/{meeting.entry.pk}"
    text = page(official, f"{where}/")
    named = {"not-on-car?piece": "27", "not-on-car?look": "27c"}
    for address in (f"not-on-car?piece={meeting.piece.pk}", f"not-on-car?look={seen.pk}"):
        assert f"{where}/{address}" in text
        asked = official.get(f"{where}/{address}")
        assert f"{named[address.split('=')[0]]}, marked 4 lb." in asked.content.decode()
        form = asked.context["form"]
        sent = {name: form[name].value() or "" for name in ("row_id", "piece", "look")}
        assert official.post(f"{where}/not-on-car", {**sent, "reason": "Sold"}).status_code == 302
    text = page(official, f"{where}/")
    assert "<b>27c</b>: not on the car</span> <span>(Sold)" in one_line(text)
    assert "No ballast on the car</button>" in text
    assert "27, Sold" not in text


def test_the_record_book_and_the_chain_hold_it(meeting: Meeting) -> None:
    by = meeting.people.official
    seen = look(meeting)
    with viewing_as(by.pk):
        record_not_on_car(by=by, entry=meeting.entry, look=seen, reason="Left in the pit")
        lines = [link.record for link in records_of(meeting.event).links]
    first, off = (line for line in lines if line["kind"] == "ballast_check")
    assert not {"not_on_car", "look", "reason", "when_weighed"} & first.keys()
    assert (off["not_on_car"], off["look"]) == (True, str(seen.pk))
    assert off["reason"].keys() == {"sha256"}  # the words stand beside the line
    assert "Not on the car: Left in the pit" in " ".join(printed(meeting, "record-book").split())


# How many were looked at


def test_one_of_two_looked_at_is_not_checked_for_anybody(client: Client, two: Meeting) -> None:
    assert two.outcomes()["ballast_fixed"] == "not_checked"
    for name in ("official", "chief", "coach"):
        client.force_login(getattr(two.people, name))
        text = page(client, f"/entries/{two.entry.pk}/")
        assert text.count("1 of 2 looked at.") == 2
        assert "all in order" not in text
        assert "<b>Meets:</b>" not in one_line(text)
    client.force_login(two.people.official)
    desk = one_line(page(client, f"/events/{two.event.pk}/desk"))
    assert "not checked: 1 of 2 looked at" in desk
    assert "1 not decided" in desk
    entry = one_line(page(client, f"/entries/{two.entry.pk}/"))
    assert (
        "<b>Not decided:</b> 321 lb, 1 lb over 320 lb; 2 rules not checked, 1 of 2 pieces" in entry
    )
    client.force_login(two.people.chief)
    (one,) = client.get(f"{API}/teams/{two.people.team.pk}/results").json()["results"]
    assert one["state"] == "not_checked"
    assert "1 of 2 looked at." in {finding["sentence"] for finding in one["findings"]}
    assert "Not checked" in page(client, f"/teams/{two.people.team.pk}/results")


def test_the_list_ticks_the_ballast_when_all_of_it_was_seen(two: Meeting) -> None:
    assert "1 of 2" in printed(two, "weigh-in-list")
    assert TICKED not in html_of(two, "weigh-in-list")
    look(two, piece=None)  # not the other one
    assert "2 of 3" in printed(two, "weigh-in-list")
    with viewing_as(two.people.official.pk):
        other = two.car.ballast_pieces.get(label="27b")
    look(two, piece=other, label="27b 27", marked_mass=mass("2 lb"), weighed_mass=None)
    assert TICKED in html_of(two, "weigh-in-list")


def test_what_the_club_publishes_is_not_better(client: Client, two: Meeting) -> None:
    steward = two.people.steward
    with viewing_as(steward.pk):
        publish_findings(by=steward, event=two.event)
    client.force_login(two.people.chief)
    told = client.get(f"{API}/events/{two.event.pk}/published-findings").json()
    assert {one["outcome"] for one in told if "ballast" in one["rule_words"]} == {"not_checked"}


# After the race


LIGHT = (
    "1.4 lb light after the race. Adding weight now does not mend it: the club's appointed "
    "officials decide."
)


def test_a_car_light_after_the_race_is_not_told_to_add(client: Client, meeting: Meeting) -> None:
    meeting.weigh("318.6", stage="after")
    shown = LIGHT.replace("'", "&#x27;")
    for name in ("official", "chief"):
        client.force_login(getattr(meeting.people, name))
        text = page(client, f"/entries/{meeting.entry.pk}/")
        assert shown in text
        assert "of ballast, then weigh again" not in text
    for where in (f"/teams/{meeting.people.team.pk}/results", "/"):
        text = page(client, where)
        assert shown in text, where
        assert "of ballast, then weigh again" not in text
    (one,) = client.get(f"{API}/teams/{meeting.people.team.pk}/results").json()["results"]
    assert one["remedies"] == [LIGHT]


def test_nor_is_one_that_was_light_before_it_too(client: Client, meeting: Meeting) -> None:
    meeting.weigh("317")
    meeting.weigh("318.6", stage="after")
    client.force_login(meeting.people.chief)
    (one,) = client.get(f"{API}/teams/{meeting.people.team.pk}/results").json()["results"]
    assert one["remedies"] == [LIGHT.replace("1.4 lb light after", "3 lb light before")]


def test_before_the_next_race_it_is_told_to_add_again(client: Client, meeting: Meeting) -> None:
    meeting.weigh("321", stage="after")
    meeting.weigh("318.6")
    client.force_login(meeting.people.chief)
    (one,) = client.get(f"{API}/teams/{meeting.people.team.pk}/results").json()["results"]
    assert one["remedies"] == ["Add 1.4 lb of ballast, then weigh again."]


def test_left_outside_after_the_race_is_not_mended_either(client: Client, meeting: Meeting) -> None:
    pads = {"LF": mass("80"), "RF": mass("60"), "LR": mass("120"), "RR": mass("61")}
    meeting.weigh(pads=pads, stage="after")
    client.force_login(meeting.people.chief)
    (one,) = client.get(f"{API}/teams/{meeting.people.team.pk}/results").json()["results"]
    assert one["remedies"] == [
        "Left outside the limit after the race. Moving weight now does not mend it: the club's "
        "appointed officials decide."
    ]


def test_too_close_after_the_race_is_weighed_as_it_is(client: Client, people: People) -> None:
    meeting = make_meeting(people, RULES[:1], decision="guarded")
    meeting.weigh("320", stage="after")
    client.force_login(meeting.people.chief)
    (one,) = client.get(f"{API}/teams/{meeting.people.team.pk}/results").json()["results"]
    assert one["remedies"] == [
        "Too close to call: weigh it again as it is, nothing changed. Adding weight now does not "
        "mend it: the club's appointed officials decide."
    ]
