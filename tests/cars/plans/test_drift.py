"""Drift: from the sheet as set to the next as found."""

import re
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.catalogue.queries import catalogue
from cars.mechanics.drift import Place
from cars.models import Sheet
from cars.plans.actions.turns import accept_plan
from cars.plans.queries.drift import CarDrift, car_drift
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, correct_sheet, open_sheet
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from tests.cars.garage import Garage, published
from tests.cars.plans.evening import make_evening, quarter
from tests.markup import tight
from tests.people import People

DAY = date(2026, 3, 1)
BAR = "rear-bar.left"


def sheet(
    garage: Garage, people: People, role: str, week: int, typed: dict[str, str], **head: Any
) -> Sheet:
    days = 7 * week + (2 if role == "set" else 0)
    made = open_sheet(
        by=people.chief,
        car=garage.car,
        role=role,
        made_on=DAY + timedelta(days=days),
        surface="paved",
        **head,
    )
    take_typed(by=people.chief, sheet=made, typed=typed)
    return made


def weekend(
    garage: Garage, people: People, week: int, as_set: dict[str, str], found: dict[str, str]
) -> None:
    sheet(garage, people, "set", week, as_set)
    sheet(garage, people, "found", week + 1, found)


def at(found: CarDrift, measure: str, spot: str) -> Any:
    return next((each for each in found.drifts if each.place == Place(measure, spot)), None)


def test_without_a_sheet_left_and_one_found_there_is_nothing_to_say(
    client: Client, garage: Garage, people: People
) -> None:
    client.force_login(people.chief)
    assert "It takes a sheet as set" in client.get(f"/cars/{garage.car.pk}/drift").content.decode()
    with viewing_as(people.chief.pk):
        sheet(garage, people, "found", 0, {BAR: "7 1/4"})
        sheet(garage, people, "set", 1, {BAR: "7 1/4"})
        assert car_drift(garage.car, catalogue()).latest is None


def test_a_place_that_jumps_after_quiet_weekends_is_flagged(
    client: Client, garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        for week in range(5):
            weekend(garage, people, week, {BAR: "7 1/4"}, {BAR: "7 1/4"})
        weekend(
            garage,
            people,
            5,
            {BAR: "7 1/4", "rear-bar.right": "7 1/4"},
            {BAR: "7 3/4", "rear-bar.right": "7 1/4"},
        )
        drift = car_drift(garage.car, catalogue())
        assert [each.place for each in drift.moved] == [Place("rear-bar", "left")]
        assert drift.moved[0].difference == pytest.approx(12.7)
        assert drift.moved[0].habit is not None
        assert drift.moved[0].habit.weekends == 5
        assert at(drift, "rear-bar", "right").verdict == "within tolerance"
    client.force_login(people.chief)
    text = client.get(f"/cars/{garage.car.pk}/drift").content.decode()
    assert "look for a loose or bent part" in text
    assert "+1/2 in" in text
    page = client.get(f"/cars/{garage.car.pk}/").content.decode()
    assert f'hx-get="/cars/{garage.car.pk}/drift"' in page
    brief = client.get(f"/cars/{garage.car.pk}/drift", headers={"HX-Request": "true"})
    assert "<html" not in brief.content.decode()
    assert "look for a loose or bent part" in brief.content.decode()


def line_of(client: Client, garage: Garage, name: str) -> str:
    text = tight(client.get(f"/cars/{garage.car.pk}/drift").content.decode())
    row = re.search(rf'<tr[^>]*><th scope="row"[^>]*>{name}.*?</tr>', text, re.DOTALL)
    assert row
    return row[0]


def test_a_sixteenth_where_this_car_never_moves_is_not_usual(
    client: Client, garage: Garage, people: People
) -> None:
    """7 1/4 to 7 3/16 in: the tape's own step, and just the tolerance."""
    with viewing_as(people.chief.pk):
        for week in range(5):
            weekend(garage, people, week, {BAR: "7 1/4"}, {BAR: "7 1/4"})
        weekend(garage, people, 5, {BAR: "7 1/4"}, {BAR: "7 3/16"})
    client.force_login(people.chief)
    said = line_of(client, garage, "Frame bar to rear axle left")
    assert "−1/16 in" in said
    assert "usual for this car" not in said
    assert "within its tolerance</span>" in said
    assert "two readings of a car that stood still may differ by 1/16 in" in said
    assert "mostly 0 over 5" in said


def test_what_the_tape_can_tell_is_said_where_the_tolerance_is_finer(
    client: Client, garage: Garage, people: People
) -> None:
    targets = {BAR: ("7 1/4", "1/64"), "rear-bar.right": ("7 1/4", "1/64")}
    with viewing_as(people.steward.pk):
        fine = published(people.steward, garage.chassis, targets)
    with viewing_as(people.chief.pk):
        for week in range(6):
            as_set = {BAR: "7 1/4", "rear-bar.right": "7 1/4"}
            found = {BAR: "7 3/16", "rear-bar.right": "7 1/8"} if week == 5 else as_set
            sheet(garage, people, "set", week, as_set, baseline=fine)
            sheet(garage, people, "found", week + 1, found, baseline=fine)
    client.force_login(people.chief)
    said = line_of(client, garage, "Frame bar to rear axle left")
    assert "two readings of a car that stood still may differ by 1/16 in" in said
    assert "usual" not in said
    assert "look for a loose or bent part" in line_of(
        client, garage, "Frame bar to rear axle right"
    )
    drifts = client.get(f"/api/v1/cars/{garage.car.pk}/drift").json()["drifts"]
    told = {each["spot"]: each for each in drifts if each["measure"] == "rear-bar"}
    assert told["left"]["verdict"] == "too little to tell"
    assert told["right"]["verdict"] == "moved"
    assert "may differ by 1/16 in" in told["left"]["text"]
    assert told["left"]["tells"] == pytest.approx(3 * 2**0.5 * 1.5875 / 12**0.5)


def test_what_always_moves_is_usual_for_this_car(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        for week, found in enumerate(("7 3/8", "7 7/16", "7 5/16", "7 3/8", "7 3/8", "7 7/16")):
            weekend(garage, people, week, {BAR: "7 1/4"}, {BAR: found})
        assert at(car_drift(garage.car, catalogue()), "rear-bar", "left").verdict == (
            "usual for this car"
        )


def test_too_few_weekends_are_no_habit(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        for week in range(3):
            weekend(garage, people, week, {BAR: "7 1/4"}, {BAR: "7 3/4"})
        drift = at(car_drift(garage.car, catalogue()), "rear-bar", "left")
        assert drift.verdict == "too few to tell"


def test_the_baselines_tolerance_is_the_measure_of_moving(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        weekend(garage, people, 0, {"wheelbase.left": "46 1/4"}, {"wheelbase.left": "46 3/8"})
        drift = car_drift(garage.car, catalogue())
        # An eighth in the baseline; elsewhere the tape's sixteenth.
        assert at(drift, "wheelbase", "left").tolerance == pytest.approx(3.175)
        assert at(drift, "wheelbase", "left").verdict == "within tolerance"


def test_what_was_turned_on_the_found_sheet_is_no_drift(garage: Garage, people: People) -> None:
    """The figure that counts is the one before anybody touched the car."""
    with viewing_as(people.chief.pk):
        sheet(garage, people, "set", 0, {BAR: "7 1/4", "ride-height.LF": "2 1/4"})
        found = sheet(garage, people, "found", 1, {BAR: "7 5/16", "ride-height.LF": "2 1/4"})
        note_change(
            by=people.chief,
            sheet=found,
            adjuster="rear-rod-upper",
            spot="left",
            amount=Decimal(2),
            unit="turn",
        )
        take_typed(
            by=people.chief,
            sheet=found,
            typed={BAR: "8", "ride-height.LF": "3", "ride-height.RF": "2"},
        )
        drift = car_drift(garage.car, catalogue())
        assert at(drift, "rear-bar", "left").difference == pytest.approx(1.5875)
        assert at(drift, "ride-height", "LF").difference == 0.0


def test_a_mistyped_figure_put_right_before_any_change_counts_as_put_right(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        sheet(garage, people, "set", 0, {BAR: "7 1/4"})
        found = sheet(garage, people, "found", 1, {BAR: "17 1/4"})
        take_typed(by=people.chief, sheet=found, typed={BAR: "7 1/4"})
        assert at(car_drift(garage.car, catalogue()), "rear-bar", "left").difference == 0.0


def test_what_was_left_unread_after_a_change_does_not_say_how_the_car_was_set(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        accept_plan(
            by=people.chief,
            sheet=evening.sheet,
            turns=quarter("1", "0", "0", "0"),
            seen=OVER_ANYTHING,
        )
        evening.take({BAR: "7 1/4"})
        later = {"ride-height.LF": "3", BAR: "7 1/4"}
        sheet(garage, people, "found", 9, later)
        drift = car_drift(garage.car, catalogue())
        assert at(drift, "ride-height", "LF") is None
        assert at(drift, "rear-bar", "left") is not None


def test_another_driver_is_no_drift(client: Client, garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        pip, juno = (
            add_driver(by=people.chief, team=people.team, display_name=name)
            for name in ("Pip", "Juno")
        )
        typed = {"weight.LF": "80", BAR: "7 1/4"}
        sheet(garage, people, "set", 0, typed, driver=pip)
        sheet(garage, people, "found", 1, {**typed, "weight.LF": "95"}, driver=juno)
        drift = car_drift(garage.car, catalogue())
        assert drift.other_load
        assert at(drift, "weight", "LF") is None
        assert at(drift, "rear-bar", "left") is not None
    client.force_login(people.chief)
    text = client.get(f"/cars/{garage.car.pk}/drift").content.decode()
    assert "Another driver or other fuel" in text


def test_a_corrected_sheet_counts_once_as_it_is_now(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        sheet(garage, people, "set", 0, {BAR: "7 1/4"})
        wrong = sheet(garage, people, "found", 1, {BAR: "8 1/4"})
        closed = close_sheet(by=people.chief, sheet=wrong)
        mended = correct_sheet(by=people.chief, sheet=closed, reason="Misread.")
        take_typed(by=people.chief, sheet=mended, typed={BAR: "7 5/16"})
        drift = car_drift(garage.car, catalogue())
        assert drift.earlier == 0
        assert at(drift, "rear-bar", "left").difference == pytest.approx(1.5875)


def test_parts_and_sprockets_do_not_drift(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        weekend(
            garage,
            people,
            0,
            {"spring-rate.LF": "100", "teeth-driven.car": "60"},
            {"spring-rate.LF": "140", "teeth-driven.car": "64"},
        )
        assert car_drift(garage.car, catalogue()).drifts == []


def test_as_many_queries_for_six_weekends_as_for_one(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        known = catalogue()
        asked = []
        for week in range(6):
            weekend(garage, people, week, {BAR: "7 1/4"}, {BAR: "7 1/4"})
            with CaptureQueriesContext(connection) as queries:
                car_drift(garage.car, known)
            asked.append(len(queries))
        assert asked == [6] * 6


def test_another_surfaces_targets_are_no_drift(garage: Garage, people: People) -> None:
    """From the paved baseline to no baseline, as from a paved weekend to one on dirt."""
    with viewing_as(people.chief.pk):
        as_set = {"wheelbase.left": "46 1/4", BAR: "7 1/4"}
        sheet(garage, people, "set", 0, as_set)
        dirt = open_sheet(
            by=people.chief,
            car=garage.car,
            role="found",
            made_on=DAY + timedelta(days=9),
            surface="dirt",
        )
        assert dirt.baseline is None
        typed = {"wheelbase.left": "46 3/4", BAR: "7 3/4"}
        take_typed(by=people.chief, sheet=dirt, typed=typed)
        drift = car_drift(garage.car, catalogue())
        assert at(drift, "wheelbase", "left") is None, "its target differs"
        assert at(drift, "rear-bar", "left").difference == pytest.approx(12.7)
