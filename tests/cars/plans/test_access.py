"""Who sees and does what with plans: by page, by API, and where the database alone decides."""

from typing import Any

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.utils import timezone

from cars.models import CalibrationReset, Car, Change, Plan
from cars.plans.actions.turns import accept_plan, reset_calibration
from cars.plans.queries.turns import turn_table
from cars.sheets.actions.conflicts import OVER_ANYTHING
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.teams import link_coach
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening, quarter
from tests.cars.seen import reading_seen, seen_by
from tests.people import People

SEES = ["chief", "crew", "guest", "coach"]
WRITES = ["chief", "crew"]
BLIND = [
    *("unlinked_coach", "rival", "official", "other_official", "steward", "other_steward"),
    "stranger",
]
EVERYBODY = [*SEES, *BLIND]
CAR_PAGES = ("calibration", "drift", "gearing", "springs")
TURNS = {"turns": "0.5,-0.5,-0.5,0.5"}


def sheet_pages(evening: Evening) -> list[str]:
    names = ("turn", "what-if?LF=1", "ballast", "rods", "marks", "lead")
    return [f"/sheets/{evening.sheet.pk}/{name}" for name in names]


def car_pages(garage: Garage) -> list[str]:
    return [f"/cars/{garage.car.pk}/{name}" for name in CAR_PAGES]


def api_pages(evening: Evening) -> list[str]:
    sheet, car = evening.sheet.pk, evening.garage.car.pk
    return [
        f"/api/v1/sheets/{sheet}/turn-plans",
        f"/api/v1/sheets/{sheet}/what-if?turns=1,0,0,0",
        f"/api/v1/cars/{car}/calibration",
        f"/api/v1/cars/{car}/drift",
    ]


@pytest.mark.parametrize("who", EVERYBODY)
def test_pages_are_for_who_sees_the_sheet(
    client: Client, people: People, garage: Garage, evening: Evening, who: str
) -> None:
    client.force_login(getattr(people, who))
    for address in [*sheet_pages(evening), *car_pages(garage), *api_pages(evening)]:
        expected = 200 if who in SEES else 404
        assert client.get(address).status_code == expected, address


def test_signed_out_one_is_asked_to_sign_in(
    client: Client, garage: Garage, evening: Evening
) -> None:
    for address in [*sheet_pages(evening), *car_pages(garage)]:
        answer = client.get(address)
        assert answer.status_code == 302
        assert "/accounts/login/" in answer["Location"]
    for address in api_pages(evening):
        assert client.get(address).status_code == 401
    posts = (
        f"/sheets/{evening.sheet.pk}/{end}"
        for end in ("turn/accept", "weigh", "same-again", "what-if/answer", "ballast/fitted")
    )
    assert {client.post(address).status_code for address in posts} == {302}
    assert client.post("/api/v1/plans", {}, "application/json").status_code == 401


@pytest.mark.parametrize("who", EVERYBODY)
def test_turns_are_accepted_from_who_may_write(
    client: Client, people: People, evening: Evening, who: str
) -> None:
    client.force_login(getattr(people, who))
    with viewing_as(people.chief.pk):
        seen = turn_table(evening.sheet, people.chief).seen
    answer = client.post(f"/sheets/{evening.sheet.pk}/turn/accept", {**TURNS, "seen": seen})
    expected = 302 if who in WRITES else 403 if who in SEES else 404
    assert answer.status_code == expected
    with viewing_as(people.chief.pk):
        assert Plan.objects.count() == (who in WRITES)
        assert Change.objects.count() == (4 if who in WRITES else 0)


@pytest.mark.parametrize("who", EVERYBODY)
def test_a_weighing_is_taken_from_who_may_write(
    client: Client, people: People, evening: Evening, who: str
) -> None:
    client.force_login(getattr(people, who))
    again = reading_seen(people.chief, evening.sheet, "weight", "RF")
    answer = client.post(
        f"/sheets/{evening.sheet.pk}/weigh",
        {"weight.LF": "80", "seen": seen_by(people.chief, evening.sheet)},
    )
    assert answer.status_code == (302 if who in WRITES else 403 if who in SEES else 404)
    same = client.post(f"/sheets/{evening.sheet.pk}/same-again", {"again": f"weight.RF {again}"})
    assert same.status_code == answer.status_code


@pytest.mark.parametrize("who", EVERYBODY)
def test_a_car_is_learned_anew_by_its_crew(
    client: Client, people: People, garage: Garage, who: str
) -> None:
    client.force_login(getattr(people, who))
    answer = client.post(f"/cars/{garage.car.pk}/calibration/reset", {"reason": "Another frame."})
    assert answer.status_code == (302 if who in WRITES else 403 if who in SEES else 404)
    with viewing_as(people.chief.pk):
        assert CalibrationReset.objects.count() == (who in WRITES)


@pytest.mark.parametrize("who", EVERYBODY)
def test_the_api_accepts_from_who_may_write(
    client: Client, people: People, evening: Evening, who: str
) -> None:
    client.force_login(getattr(people, who))
    sent = {"sheet": str(evening.sheet.pk), "turns": {"LF": "0.5", "RR": "0.5"}, "seen": "anything"}
    answer = client.post("/api/v1/plans", sent, "application/json")
    # A sheet that one cannot see is no sheet: the field says so.
    assert answer.status_code == (201 if who in WRITES else 403 if who in SEES else 400)


@pytest.mark.parametrize("who", EVERYBODY)
def test_the_api_lists_plans_and_resets_to_who_sees_them(
    client: Client, people: People, evening: Evening, who: str
) -> None:
    with viewing_as(people.chief.pk):
        accept_plan(
            by=people.chief,
            sheet=evening.sheet,
            turns=quarter("1", "0", "0", "0"),
            seen=OVER_ANYTHING,
        )
        reset_calibration(by=people.chief, car=evening.garage.car, reason="Another frame.")
    client.force_login(getattr(people, who))
    for address in ("/api/v1/plans", "/api/v1/calibration-resets"):
        answer = client.get(address).json()["results"]
        assert len(answer) == (1 if who in SEES else 0)


def test_a_coach_whom_the_team_lets_write_turns_but_does_not_reset(
    client: Client, people: People, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        link_coach(by=people.chief, team=people.team, coach=people.coach, may_write=True)
    client.force_login(people.coach)
    assert client.post(f"/sheets/{evening.sheet.pk}/turn/accept", TURNS).status_code == 302
    reset = client.post(f"/cars/{evening.garage.car.pk}/calibration/reset", {"reason": "No."})
    assert reset.status_code == 403


@pytest.mark.parametrize("who", ["guest", "coach"])
def test_who_only_reads_is_offered_no_button(
    client: Client, people: People, evening: Evening, who: str
) -> None:
    client.force_login(getattr(people, who))
    for page in sheet_pages(evening):
        assert b'<form method="post"' not in client.get(page).content
    learned = client.get(f"/cars/{evening.garage.car.pk}/calibration")
    assert b"Forget it and start again" not in learned.content


def plan_row(evening: Evening, by: User, **changed: Any) -> Plan:
    """A plan as somebody without the action might write it."""
    four = [1.0, 1.0, 1.0, 1.0]
    given = {
        "sheet": evening.sheet,
        "team_id": evening.sheet.team_id,
        "by": by,
        "accepted_at": timezone.now(),
        "turns": quarter("1", "0", "0", "0"),
        "started_from": [],
        "geometry": {},
        "learned": 0,
        "loads_before": four,
        "loads": four,
        "u_loads": four,
        "cross_before": 0.5,
        "cross": 0.5,
        "u_cross": 0.1,
    }
    return Plan(**{**given, **changed})


@pytest.mark.parametrize("who", [name for name in EVERYBODY if name not in WRITES])
def test_the_database_takes_a_plan_from_who_may_write_only(
    people: People, evening: Evening, who: str
) -> None:
    by = getattr(people, who)
    with viewing_as(by.pk), pytest.raises(DatabaseError), transaction.atomic():
        plan_row(evening, by).save(force_insert=True)


def test_the_database_keeps_plans_as_they_are(people: People, evening: Evening) -> None:
    with viewing_as(people.chief.pk):
        plan_row(evening, people.chief).save(force_insert=True)
        with pytest.raises(DatabaseError), transaction.atomic():
            Plan.objects.update(cross=0.9)
        with pytest.raises(DatabaseError), transaction.atomic():
            Plan.objects.all().delete()


def test_the_database_wants_four_corners_and_heights_all_or_none(
    people: People, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        for changed in (
            {"turns": quarter("1", "1")},
            {"loads": [1.0]},
            {"heights": [1.0, 1.0, 1.0, 1.0]},
        ):
            with pytest.raises(DatabaseError), transaction.atomic():
                plan_row(evening, people.chief, **changed).save(force_insert=True)


def test_a_plan_cannot_lie_about_its_team(people: People, evening: Evening) -> None:
    row = plan_row(evening, people.rival, team_id=people.rival_team.pk)

    def lie() -> None:
        row.save(force_insert=True)
        transaction.get_connection().check_constraints()

    with viewing_as(people.rival.pk), pytest.raises(DatabaseError), transaction.atomic():
        lie()


def test_a_reset_cannot_lie_about_its_team_or_be_taken_back(people: People, garage: Garage) -> None:
    car = Car(pk=garage.car.pk)
    with viewing_as(people.rival.pk), pytest.raises(DatabaseError), transaction.atomic():
        CalibrationReset.objects.create(
            car=car, team_id=people.rival_team.pk, by=people.rival, reason="Mine."
        )
    with viewing_as(people.chief.pk):
        reset_calibration(by=people.chief, car=garage.car, reason="Another frame.")
        with pytest.raises(DatabaseError), transaction.atomic():
            CalibrationReset.objects.all().delete()
