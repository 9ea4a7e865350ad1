"""A ballast plan accepted: what is on the car, its labels, the checks; and taken back."""

import re
from typing import Any

import pytest
from django.test import Client

from cars.bench.queries.versions import version_of
from cars.garage.actions.cars import add_car
from cars.models import BallastMount, BallastPiece, Change, Reading
from cars.plans.actions.ballast import fit_ballast, take_back_ballast
from cars.plans.queries.ballast import ballast_seen
from cars.sheets.actions.ballast import move_ballast_piece
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_typed
from cars.sheets.presenters.sheet_view import sheet_view
from cars.sheets.prints import setup_sheet_html
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.viewer import viewing_as
from tests.cars.plans.evening import Evening
from tests.cars.plans.test_tools import ASKED, mounts, piece
from tests.markup import paper_of
from tests.people import People

__all__ = ["mounts"]  # a fixture of the tools
CHECKS = ("ballast-fixed", "ballast-labelled", "nuts-bolts", "brakes")


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


@pytest.fixture
def checked(people: People, evening: Evening) -> Evening:
    """With everything of the last steps ticked, before any ballast is touched."""
    with viewing_as(people.chief.pk):
        evening.take({"ballast-total.car": "5 lb", **{f"{c}.car": "done" for c in CHECKS}})
    return evening


def on_the_sheet(evening: Evening, people: People) -> dict[str, tuple[str, str]]:
    """What each box of the last steps says, and what it is to be read."""
    view = sheet_view(evening.sheet, people.chief)
    boxes = [view.box(slug, "car") for slug in ("ballast-total", *CHECKS)]
    return {box.key.measure: (box.text, str(box.judgement.outcome)) for box in boxes}


def old_and_new(people: People, evening: Evening) -> tuple[BallastPiece, BallastPiece]:
    old, new = piece(people, "7", "5 lb", evening.garage.car), piece(people, "7", "12 lb")
    return old, new


def test_the_ballast_on_the_car_is_what_its_pieces_say_and_the_checks_are_due(
    chief: Client, people: People, checked: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        _, new = old_and_new(people, checked)
        seen = ballast_seen(checked.sheet)
    sent = {"move": [f"{new.pk}:{mounts[0].pk}"], "seen": seen}
    chief.post(f"/sheets/{checked.sheet.pk}/ballast/fitted", sent)
    with viewing_as(people.chief.pk):
        says = on_the_sheet(checked, people)
        assert says["ballast-total"] == ("17 lb", "no target")
        assert {says[check][1] for check in CHECKS} == {"retake"}
        view = sheet_view(checked.sheet, people.chief)
        assert view.box("weight", "RR").is_retake
        printed = setup_sheet_html(checked.sheet, people.chief)
    assert paper_of(printed)["ballast-total.car"].set == "17"


def test_more_on_the_car_than_its_pieces_say_is_asked_again(
    people: People, checked: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        new = piece(people, "7", "12 lb")  # and 5 lb stand noted that no piece accounts for
        fit_ballast(
            by=people.chief, sheet=checked.sheet, moves=[(new.pk, mounts[0].pk)], seen=OVER_ANYTHING
        )
        assert on_the_sheet(checked, people)["ballast-total"] == ("5 lb", "retake")


def test_taken_back_all_is_as_it_was(
    chief: Client, people: People, checked: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        old, new = old_and_new(people, checked)
        move_ballast_piece(by=people.chief, piece=old, car=checked.garage.car, mount=mounts[1])
        before, seen = on_the_sheet(checked, people), ballast_seen(checked.sheet)
    moves = [f"{new.pk}:{mounts[0].pk}", f"{old.pk}:"]
    chief.post(f"/sheets/{checked.sheet.pk}/ballast/fitted", {"move": moves, "seen": seen})
    page = chief.get(f"/sheets/{checked.sheet.pk}/ballast").content.decode()
    assert "the 12 lb piece marked 7 at Left rail" in page
    assert "the 5 lb piece marked 7, taken off Rear bar" in page
    with viewing_as(people.chief.pk):
        assert on_the_sheet(checked, people)["ballast-total"][0] == "12 lb"
        version = version_of(checked.sheet.pk)
    back = chief.post(f"/sheets/{checked.sheet.pk}/ballast/taken-back", follow=True)
    assert "Taken back" in back.content.decode()
    with viewing_as(people.chief.pk):
        old.refresh_from_db()
        new.refresh_from_db()
        assert (new.car_id, new.mount_id) == (None, None)
        assert (old.car_id, old.mount_id) == (checked.garage.car.pk, mounts[1].pk)
        assert on_the_sheet(checked, people) == before
        assert not sheet_view(checked.sheet, people.chief).retakes
        assert version_of(checked.sheet.pk) != version, "the other phones are told"
        assert Change.objects.filter(taken_back_by=people.chief).count() == 2, "it stays on record"
        with pytest.raises(WrongState, match="No ballast was noted"):
            take_back_ballast(by=people.chief, sheet=checked.sheet)


def test_where_no_total_was_noted_none_is_left(
    people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        one = piece(people, "7", "12 lb")
        fit_ballast(
            by=people.chief, sheet=evening.sheet, moves=[(one.pk, mounts[0].pk)], seen=OVER_ANYTHING
        )
        take_back_ballast(by=people.chief, sheet=evening.sheet)
        standing = Reading.objects.current().filter(measure="ballast-total")
        assert not standing.exists()


def test_what_was_weighed_since_is_taken_off_and_not_back(
    people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        one = piece(people, "7", "12 lb")
        fit_ballast(
            by=people.chief, sheet=evening.sheet, moves=[(one.pk, mounts[0].pk)], seen=OVER_ANYTHING
        )
        evening.weigh()
        with pytest.raises(WrongState, match="taken off"):
            take_back_ballast(by=people.chief, sheet=evening.sheet)


def test_a_piece_moved_since_is_not_taken_back(
    people: People, evening: Evening, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        one = piece(people, "7", "12 lb")
        fit_ballast(
            by=people.chief, sheet=evening.sheet, moves=[(one.pk, mounts[0].pk)], seen=OVER_ANYTHING
        )
        move_ballast_piece(by=people.chief, piece=one, car=evening.garage.car, mount=mounts[1])
        with pytest.raises(WrongState, match="was moved since"):
            take_back_ballast(by=people.chief, sheet=evening.sheet)


class TestAPieceMarkedForAnotherCar:
    def test_is_named_on_the_page_and_fitted_only_when_it_is_meant(
        self, chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
    ) -> None:
        with viewing_as(people.chief.pk):
            own, other = piece(people, "7", "9 lb"), piece(people, "9", "25 lb")
            seen = ballast_seen(evening.sheet)
        page = chief.get(f"/sheets/{evening.sheet.pk}/ballast?{ASKED}").content.decode()
        assert "the 25 lb piece is marked 9, and this is car 7 Blue" in page
        assert f'name="confirmed" value="{other.pk}"' in page
        assert f'name="confirmed" value="{own.pk}"' not in page
        sent = {"move": f"{other.pk}:{mounts[0].pk}", "asked": ASKED, "seen": seen}
        refused = chief.post(f"/sheets/{evening.sheet.pk}/ballast/fitted", sent)
        assert refused["Location"].endswith(f"/ballast?{ASKED}"), "what was asked is still there"
        told = chief.get(refused["Location"]).content.decode()
        assert "The 25 lb piece is marked 9" in told
        with viewing_as(people.chief.pk):
            other.refresh_from_db()
            assert other.car_id is None
            assert not Change.objects.exists()
        chief.post(
            f"/sheets/{evening.sheet.pk}/ballast/fitted", {**sent, "confirmed": str(other.pk)}
        )
        with viewing_as(people.chief.pk):
            other.refresh_from_db()
            assert other.car_id == evening.garage.car.pk

    def test_can_be_left_out(
        self, chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
    ) -> None:
        with viewing_as(people.chief.pk):
            piece(people, "7", "9 lb")
            other = piece(people, "9", "25 lb")
        path = f"/sheets/{evening.sheet.pk}/ballast?{ASKED}&without={other.pk}"
        page = chief.get(path).content.decode()
        assert "9 25 lb is left out, as you asked" in page
        assert not re.search(r"Fit the 25 lb", page)

    def test_the_api_names_it_too(
        self, chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
    ) -> None:
        with viewing_as(people.chief.pk):
            other = piece(people, "9", "25 lb")
        path = f"/api/v1/sheets/{evening.sheet.pk}"
        asked = f"{path}/ballast-plans?minimum=330+lb&margin=1+lb&fuel_now=0"
        moves = chief.get(asked).json()["plans"][0]["moves"]
        assert "is marked 9" in moves[0]["marked_for_another"]
        left_out = chief.get(f"{asked}&without={other.pk}").json()
        assert left_out["missing"], "there is no other piece"
        sent = {"moves": [{"piece": str(other.pk), "mount": str(mounts[0].pk)}], "seen": "anything"}
        kind: dict[str, Any] = {"content_type": "application/json"}
        refused = chief.post(f"{path}/ballast", sent, **kind)
        assert refused.status_code == 400
        assert refused.json()["errors"][0]["pointer"] == "#/confirmed"
        meant = chief.post(f"{path}/ballast", {**sent, "confirmed": [str(other.pk)]}, **kind)
        assert meant.status_code == 201
        back = chief.post(f"{path}/ballast/taken-back", **kind)
        assert [row["car"] for row in back.json()] == [None]

    @pytest.mark.parametrize(
        ("label", "asks"),
        [
            *((label, False) for label in ("7", "#7", "Blue", "Wrens", "7 Wrens")),
            *((label, True) for label in ("9", "12x", "Red", "car 9")),
        ],
    )
    def test_by_its_number_or_by_a_cars_name(
        self, people: People, evening: Evening, mounts: list[BallastMount], label: str, asks: bool
    ) -> None:
        with viewing_as(people.chief.pk):
            add_car(
                by=people.chief,
                team=people.team,
                number="8",
                name="Red",
                chassis=evening.garage.chassis,
                since=evening.sheet.made_on,
            )
            one = piece(people, label, "12 lb")
            moves = [(one.pk, mounts[0].pk)]
            if asks:
                with pytest.raises(Invalid, match=f"marked {label}, and this is car 7"):
                    fit_ballast(
                        by=people.chief, sheet=evening.sheet, moves=moves, seen=OVER_ANYTHING
                    )
            else:
                fit_ballast(by=people.chief, sheet=evening.sheet, moves=moves, seen=OVER_ANYTHING)

    def test_one_on_another_car_is_named_and_left_out(
        self, chief: Client, people: People, evening: Evening, mounts: list[BallastMount]
    ) -> None:
        with viewing_as(people.chief.pk):
            given: dict[str, Any] = {"number": "8", "name": "", "chassis": evening.garage.chassis}
            car = add_car(by=people.chief, team=people.team, since=evening.sheet.made_on, **given)
            piece(people, "7", "25 lb")
            there = piece(people, "8", "10 lb", car)
            moves, confirmed = [(there.pk, mounts[0].pk)], [there.pk]
            with pytest.raises(WrongState, match="is on car 8"):
                fit_ballast(
                    by=people.chief,
                    sheet=evening.sheet,
                    moves=moves,
                    confirmed=confirmed,
                    seen=OVER_ANYTHING,
                )
        page = chief.get(f"/sheets/{evening.sheet.pk}/ballast?{ASKED}").content.decode()
        assert "8 10 lb is on car 8: it is left out." in page


def test_the_weight_typed_as_before_is_not_taken_for_the_ballast(
    people: People, checked: Evening, mounts: list[BallastMount]
) -> None:
    """A hand that types the total after the pieces were noted has the last word."""
    with viewing_as(people.chief.pk):
        _, new = old_and_new(people, checked)
        fit_ballast(
            by=people.chief, sheet=checked.sheet, moves=[(new.pk, mounts[0].pk)], seen=OVER_ANYTHING
        )
        take_typed(by=people.chief, sheet=checked.sheet, typed={"ballast-total.car": "18 lb"})
        with pytest.raises(WrongState, match="taken off"):
            take_back_ballast(by=people.chief, sheet=checked.sheet)
        assert on_the_sheet(checked, people)["ballast-total"] == ("18 lb", "no target")
