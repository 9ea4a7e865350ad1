"""The coach's board: what it counts, what it says, and to whom."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from cars.history.queries.board import OLD_AFTER, board_of
from cars.models import Car
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.teams import unlink_coach
from teams.models import CoachLink
from tests.cars.garage import Garage
from tests.cars.history.fleet import DAY, fleet, rivals_car, set_sheet
from tests.cars.runs.test_api import EVERYBODY, caller, done
from tests.markup import one_line
from tests.people import People

EVEN = ["2 3/8"] * 5
ODD = [*EVEN, "2 5/8"]


def page_of(people: People, garage: Garage, who: str, query: str = "") -> tuple[int, str]:
    client = Client()
    client.force_login(getattr(people, who))
    answer = client.get(f"/boards/{garage.chassis.pk}/{query}")
    return answer.status_code, one_line(answer.content.decode())


def test_the_odd_one_is_named_with_its_score(people: People, garage: Garage) -> None:
    fleet(people, garage, ODD, timezone.localdate())
    code, page = page_of(people, garage, "coach")
    assert code == 200
    assert "24 is the odd one out in one measure." in page
    assert '<svg role="img" aria-label="Where 6 cars stand: Ride height, right front"' in page
    assert "over the middle, score 13.9" in page
    assert f"box=ride-height.RF" in page  # noqa: F541
    _, dirt = page_of(people, garage, "coach", "?surface=dirt")
    assert "0 cars have a new enough closed sheet as set." in dirt


@pytest.mark.parametrize(("odd", "mark", "way"), [("3", "▲", "over"), ("2", "▼", "under")])
def test_the_mark_of_the_odd_one_points_to_where_it_stands(
    people: People, garage: Garage, odd: str, mark: str, way: str
) -> None:
    heights = ["2 1/2", "2 1/2", "2 9/16", "2 1/2", odd]
    fleet(people, garage, heights, timezone.localdate())
    _, page = page_of(people, garage, "coach")
    assert f"{way} the middle" in page
    before = page[: page.index(f"{way} the middle")]
    assert before.rpartition('<span class="state bad">')[2].startswith(
        f'<span aria-hidden="true">{mark}</span> 23'
    )


def test_the_odd_are_folded_by_step_the_oddest_step_first_and_open(
    people: People, garage: Garage
) -> None:
    *even, odd = fleet(people, garage, EVEN, timezone.localdate())
    for car in even:
        boxes = {"ride-height.RF": "2 3/8", "pressure.LF": "9"}
        set_sheet(owner(people, car), car, boxes, timezone.localdate())
    boxes = {"ride-height.RF": "4", "pressure.LF": "10"}
    set_sheet(people.rival, odd, boxes, timezone.localdate())
    _, page = page_of(people, garage, "coach")
    pattern = r'<details class="board-step"( open)?> <summary>([^<:]+): ([^<]+)<'
    steps = re.findall(pattern, page)
    assert steps == [
        (" open", "Ride heights", "1 measure, car 23"),
        ("", "Tyres", "1 measure, car 23"),
    ]


def test_cars_are_ticked_there_to_compare(people: People, garage: Garage) -> None:
    first, *_, last = fleet(people, garage, EVEN, timezone.localdate())
    empty = rivals_car(people, garage, "77")
    client = Client()
    client.force_login(people.coach)
    page = client.get(f"/boards/{garage.chassis.pk}/").content.decode()
    assert 'method="get" action="/compare"' in page
    ticks = re.findall(r'name="cars" value="([^"]+)"', page)
    assert len(ticks) == 5
    assert str(empty.pk) not in ticks
    compared = client.get("/compare", {"cars": [str(first.pk), str(last.pk)]})
    assert "Two sheets side by side" in compared.content.decode()


def test_under_four_cars_nothing_is_odd(people: People, garage: Garage) -> None:
    fleet(people, garage, ["2 3/8", "2 3/8", "3"], timezone.localdate())
    _, page = page_of(people, garage, "coach")
    assert "3 cars have a new enough closed sheet as set. From 4 cars up" in page
    assert "3 cars: from four up" in page
    assert "score" not in page.split("The middle is")[0]


def test_an_old_sheet_is_marked_and_does_not_count(people: People, garage: Garage) -> None:
    *_, last = fleet(people, garage, ODD)
    with viewing_as(people.rival.pk):
        assert last.number == "24"
    for car in fleet_but(people, garage, last):
        set_sheet(owner(people, car), car, {"ride-height.RF": "2 1/4"}, DAY + OLD_AFTER * 2)
    with viewing_as(people.coach.pk):
        today = DAY + OLD_AFTER * 2
        board = board_of(people.coach, garage.chassis, "paved", today)
        assert board
        assert [one.car.number for one in board.cars if one.is_old] == ["24"]
        (row,) = board.rows
        assert row.field
        assert row.field.middle == pytest.approx(2.25 * 25.4)
        assert [one.car.number for one in row.old] == ["24"]
        assert row.odd == []
        edge = board_of(people.coach, garage.chassis, "paved", DAY + OLD_AFTER)
        assert edge
        assert not any(one.is_old for one in edge.cars)
        past = board_of(people.coach, garage.chassis, "paved", DAY + OLD_AFTER + timedelta(1))
        assert past
        assert [one.car.number for one in past.cars if one.is_old] == ["24"]


def fleet_but(people: People, garage: Garage, left_out: Car) -> list[Car]:
    with viewing_as(people.coach.pk):
        cars = Car.objects.filter(chassis=garage.chassis).select_related("team")
        return list(cars.exclude(pk=left_out.pk))


def owner(people: People, car: Car) -> User:
    return people.chief if car.team_id == people.team.pk else people.rival


@pytest.mark.parametrize("who", EVERYBODY)
def test_nobody_but_a_linked_coach_has_it(people: People, garage: Garage, who: str) -> None:
    set_sheet(people.chief, garage.car, {"ride-height.RF": "2 1/4"})
    wanted = 200 if who == "coach" else 404
    assert page_of(people, garage, who)[0] == wanted
    client = Client()
    client.force_login(getattr(people, who))
    assert client.get("/boards/").status_code == wanted
    assert caller(client)("get", f"boards/{garage.chassis.pk}").status_code == wanted


def test_a_coach_sees_no_car_of_a_team_that_did_not_let_him_in(
    people: People, garage: Garage
) -> None:
    fleet(people, garage, EVEN)
    with viewing_as(people.rival.pk):
        link = CoachLink.objects.get(team=people.rival_team)
        unlink_coach(by=people.rival, link=link)
    _, page = page_of(people, garage, "coach")
    assert "Kestrels" not in page
    assert "Osprey 6: 1 car" in page


def test_the_api_says_the_same(people: People, garage: Garage) -> None:
    cars = fleet(people, garage, ODD, timezone.localdate())
    client = Client()
    client.force_login(people.coach)
    call = caller(client)
    board = done(call("get", f"boards/{garage.chassis.pk}?surface=paved"))
    (row,) = board["rows"]
    odd = [figure for figure in row["figures"] if figure["is_odd"]]
    assert [figure["car"] for figure in odd] == [str(cars[-1].pk)]
    assert row["middle"] == pytest.approx(2.375 * 25.4)
    assert len(board["cars"]) == 6
    assert call("get", f"boards/{garage.chassis.pk}?surface=ice").status_code == 400


def test_as_many_queries_for_twelve_cars_as_for_four(people: People, garage: Garage) -> None:
    fleet(people, garage, EVEN[:4])
    four = _queries(people, garage)
    for number in range(40, 48):
        car = rivals_car(people, garage, str(number))
        set_sheet(people.rival, car, {"ride-height.RF": "2 1/4", "pressure.LF": "9"})
    assert _queries(people, garage) == four <= 14


def _queries(people: People, garage: Garage) -> int:
    client = Client()
    client.force_login(people.coach)
    path = f"/boards/{garage.chassis.pk}/"
    client.get(path)
    with CaptureQueriesContext(connection) as seen:
        assert client.get(path).status_code == 200
    return len([one for one in seen if "SAVEPOINT" not in one["sql"]])
