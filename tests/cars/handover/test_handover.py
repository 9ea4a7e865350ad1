"""A car to its next owner: what goes, what stays, who reads what afterwards, and back again."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from cars.handover.actions.handovers import (
    offer_car,
    take_car,
    take_car_back,
    withdraw_offer,
)
from cars.models import Car, HandedSheet, Handover, Ownership, Reading, Run, Sheet
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.viewer import viewing_as
from tests.cars.handover.giving import DAY, Giving
from tests.people import People


def browser(user: Any) -> Client:
    client = Client()
    client.force_login(user)
    return client


def test_with_none_the_car_alone_goes(giving: Giving, people: People) -> None:
    _, code = giving.offer(people.chief, "none")
    giving.take(code)
    with viewing_as(giving.receiver.pk):
        car = Car.objects.get(pk=giving.garage.car.pk)
        assert (car.team_id, car.number) == (giving.to_team.pk, "41")
        assert not Sheet.objects.filter(car=car).exists()
        assert [row.until for row in Ownership.objects.filter(car=car)] == [None]
    with viewing_as(people.chief.pk):
        (was,) = Ownership.objects.filter(car=giving.garage.car.pk)
        assert was.until is not None


@pytest.mark.parametrize(("history", "roles"), [("set", ["set"]), ("all", ["found", "set"])])
def test_sheets_go_as_copies_under_new_ids_beside_their_source(
    giving: Giving, people: People, history: str, roles: list[str]
) -> None:
    _, code = giving.offer(people.chief, history)
    giving.take(code)
    with viewing_as(giving.receiver.pk):
        rows = HandedSheet.objects.select_related("sheet").order_by("sheet__role")
        assert [row.sheet.role for row in rows] == roles
        assert rows.last().source == giving.set.pk != rows.last().sheet_id  # type: ignore[union-attr]
        copy = rows.last().sheet  # type: ignore[union-attr]
        assert (copy.driver_id, copy.track_id, copy.baseline_id, copy.note) == (
            None,
            None,
            None,
            "",
        )
        read = dict(copy.readings.values_list("measure_id", "typed"))
        assert read == {"ride-height": "2 5/16", "pressure": "9.5"}
        assert rows.last().content["track"]["name"] == "Fernbank Oval"  # type: ignore[union-attr]
        # Of the giver's own there is nothing to be found.
        assert not Sheet.objects.filter(pk__in=[giving.found.pk, giving.set.pk]).exists()


def test_the_giver_keeps_reading_its_own_as_it_was(giving: Giving, people: People) -> None:
    page = f"/sheets/{giving.set.pk}/"
    before = browser(people.chief).get(page)
    _, code = giving.offer(people.chief)
    giving.take(code, name="Night Owl", number="OWL41")
    with viewing_as(people.chief.pk):
        sheet = Sheet.objects.select_related("car__chassis").get(pk=giving.set.pk)
        assert (str(sheet.car), sheet.car.chassis.name) == ("7 Blue", "Osprey 6")
        assert sheet.readings.count() == 8
    after = browser(people.chief).get(page)
    assert (before.status_code, after.status_code) == (200, 200)
    for text in ("Night Owl", "OWL41", "Marl Heath", "Larks"):
        assert text not in after.content.decode()
    assert browser(people.chief).get(f"/cars/{giving.garage.car.pk}/").status_code == 404
    with viewing_as(people.chief.pk):
        car = Car.objects.get(pk=giving.garage.car.pk)
        with pytest.raises(NotAllowed):
            open_sheet(by=people.chief, car=car, role="found", made_on=DAY, surface="paved")


def test_both_read_the_same_before_they_confirm(giving: Giving, people: People) -> None:
    address = f"/cars/{giving.garage.car.pk}/handover"
    shown = browser(people.chief).get(address, {"history": "all"}).content.decode()
    offered = browser(people.chief).post(address, {"history": "all", "offer": "yes"})
    code = offered.context["code"]
    taking = browser(giving.receiver).post("/handovers/take", {"code": code.lower()})
    assert taking.status_code == 200
    part = '<section class="sec" aria-labelledby="h-package">'
    giver, receiver = (
        text.split(part)[1].split("</section>")[0] for text in (shown, taking.content.decode())
    )
    assert giver == receiver
    done = browser(giving.receiver).post(
        "/handovers/take",
        {
            **{"code": code, "confirm": "yes", "team": giving.to_team.pk, "number": "41"},
            "chassis": giving.to_chassis.pk,
        },
        follow=True,
    )
    assert done.status_code == 200, done.content.decode()
    assert giver in done.content.decode()


@pytest.mark.parametrize(
    "wrong", ["number", "chassis", "code", "team"], ids=lambda name: f"wrong {name}"
)
def test_what_cannot_be_taken_names_the_field(giving: Giving, people: People, wrong: str) -> None:
    _, code = giving.offer(people.chief, "none")
    wrongly: dict[str, dict[str, Any]] = {
        "number": {"number": "12345678"},
        "chassis": {"chassis": giving.garage.chassis},
    }
    given = wrongly.get(wrong, {})
    if wrong == "team":
        with viewing_as(people.rival.pk), pytest.raises(NotAllowed):
            take_car(
                by=people.rival,
                code=code,
                team=giving.to_team,
                number="1",
                chassis=giving.garage.chassis,
            )
        return
    with pytest.raises(Invalid) as refusal:
        giving.take("ABCD" if wrong == "code" else code, **given)
    assert refusal.value.field == wrong


def test_of_two_who_send_the_code_the_first_has_the_car(giving: Giving, people: People) -> None:
    _, code = giving.offer(people.chief, "none")
    with viewing_as(people.rival.pk):
        take_car(
            by=people.rival,
            code=code,
            team=people.rival_team,
            number="8",
            chassis=giving.garage.chassis,
        )
    with pytest.raises(Invalid, match="used"):
        giving.take(code)


def test_in_the_same_club_track_and_baseline_stay_rows(giving: Giving, people: People) -> None:
    _, code = giving.offer(people.chief, "set")
    with viewing_as(people.rival.pk):
        take_car(
            by=people.rival,
            code=code,
            team=people.rival_team,
            number="8",
            chassis=giving.garage.chassis,
        )
        copy = HandedSheet.objects.select_related("sheet").get().sheet
    assert copy.track_id == giving.set.track_id
    assert copy.baseline_id == giving.set.baseline_id is not None


def test_one_offer_at_a_time_and_an_old_one_makes_way(giving: Giving, people: People) -> None:
    first, _ = giving.offer(people.chief, "none")
    with pytest.raises(WrongState, match="offered already"):
        giving.offer(people.chief, "none")
    with viewing_as(people.chief.pk):
        withdraw_offer(by=people.chief, handover=first)
    second, code = giving.offer(people.chief, "none")
    assert second.state == "offered"
    with viewing_as(people.chief.pk):
        withdraw_offer(by=people.chief, handover=second)
    with pytest.raises(Invalid, match="withdrawn"):
        giving.take(code)


def test_an_offer_expires(giving: Giving, people: People, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cars.handover.actions.handovers.HOLDS_FOR", timedelta(seconds=-1))
    row, code = giving.offer(people.chief, "none")
    assert row.state == "expired"
    with pytest.raises(Invalid, match="too old"):
        giving.take(code)
    monkeypatch.undo()
    assert giving.offer(people.chief, "none")[0].expires_at > timezone.now()


def test_an_open_bench_is_closed_first(giving: Giving, people: People) -> None:
    _, code = giving.offer(people.chief, "none")
    with viewing_as(people.chief.pk):
        giving.garage.sheet(people.chief)
    with pytest.raises(WrongState, match="still has a sheet"):
        giving.take(code)
    with viewing_as(people.chief.pk), pytest.raises(WrongState, match="is open"):
        offer_car(by=people.chief, car=giving.garage.car, history="none")


def test_what_waits_on_the_givers_phone_is_refused_and_never_lands_with_the_receiver(
    giving: Giving, people: People
) -> None:
    _, code = giving.offer(people.chief, "all")
    giving.take(code)
    car = giving.garage.car.pk
    # As the outbox of the giver's phone sends it, once there is a connection again.
    for path, sent, answer in (
        (
            f"sheets/{giving.set.pk}/readings",
            {
                "readings": [
                    {"measure": "ride-height", "spot": "RF", "typed": "2 1/2", "seen": None}
                ]
            },
            409,
        ),
        (f"cars/{car}/benches", {"role": "found"}, 404),
        ("runs", {"car": str(car), "details": {"surface": "paved"}}, 403),
    ):
        late = browser(people.chief).post(f"/api/v1/{path}", sent, content_type="application/json")
        assert late.status_code == answer, (path, late.content)
    with viewing_as(giving.receiver.pk):
        assert not Reading.objects.filter(spot="RF").exists()
        assert not Run.objects.exists()
        assert not Sheet.objects.filter(state="open").exists()


def test_taken_back_while_nothing_was_written(giving: Giving, people: People) -> None:
    offer, code = giving.offer(people.chief, "all")
    giving.take(code)
    with viewing_as(people.chief.pk):
        row = take_car_back(by=people.chief, handover=offer)
        car = Car.objects.get(pk=giving.garage.car.pk)
        assert row.state == "taken-back"
        assert (car.team_id, str(car)) == (people.team.pk, "7 Blue")
        assert [own.until for own in Ownership.objects.filter(car=car)] == [None]
    with viewing_as(giving.receiver.pk):
        assert not Sheet.objects.exists()
        assert not Car.objects.exists()


@pytest.mark.parametrize("wrote", ["a sheet", "a comment", "a number"])
def test_what_the_receiver_wrote_keeps_the_car(giving: Giving, people: People, wrote: str) -> None:
    offer, code = giving.offer(people.chief, "set")
    giving.take(code)
    by = giving.receiver
    with viewing_as(by.pk):
        car = Car.objects.select_related("team").get(pk=giving.garage.car.pk)
        if wrote == "a sheet":
            open_sheet(by=by, car=car, role="found", made_on=DAY, surface="paved")
        elif wrote == "a comment":
            add_comment(by=by, sheet=Sheet.objects.select_related("team").get(), text="Ours.")
        else:
            car.number = "42"
            car.save(update_fields=["number"])
    with viewing_as(people.chief.pk), pytest.raises(WrongState, match="has written"):
        take_car_back(by=people.chief, handover=offer)
    with viewing_as(by.pk):
        assert Sheet.objects.filter(car=car, role="set").exists()


@pytest.mark.parametrize("who", ["crew", "guest", "coach", "official", "steward", "rival"])
def test_nobody_but_the_two_chiefs_sees_a_handover(
    giving: Giving, people: People, who: str
) -> None:
    offer, code = giving.offer(people.chief, "none")
    giving.take(code)
    user = getattr(people, who)
    with viewing_as(user.pk):
        assert not Handover.objects.exists()
    assert browser(user).get(f"/handovers/{offer.pk}/").status_code == 404
    assert browser(user).get(f"/api/v1/handovers/{offer.pk}").status_code == 404
    for chief in (people.chief, giving.receiver):
        assert browser(chief).get(f"/api/v1/handovers/{offer.pk}").status_code == 200
        assert browser(chief).get(f"/handovers/{offer.pk}/").status_code == 200
