"""The demo's coach: the board finds the bent one of twelve cars, and advice in three states."""

from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from cars.history.presenters.board import board_shown
from cars.history.queries.advice import since
from cars.history.queries.board import board_of
from cars.models import Advice, Chassis
from clubsetup.access.viewer import viewing_as
from events.demo.build import Demo, load
from events.demo.cast import Cast
from teams.models import CoachLink

BENT = "34"


def today() -> date:
    """By the club's clock: what is advised is advised now, whatever day the demo is built for."""
    return timezone.localdate(timezone=ZoneInfo(load("club.json")["club"]["time_zone"]))


@pytest.fixture
def cast(db: None) -> Cast:
    """Of the demo's coached teams alone, without meetings and runs."""
    given = load("club.json")
    given["teams"] = [team for team in given["teams"] if "coached" in team]
    cast = Cast(given["people"], given["password"])
    demo = Demo(given, cast, today(), None)
    demo.build()
    return cast


def test_the_board_finds_the_bent_one_of_twelve(cast: Cast) -> None:
    with cast.acting("ruben") as by:
        chassis = Chassis.objects.get(name="Larkspur 31")
        board = board_of(by, chassis, "paved", today())
        assert board
        assert len(board.counted) == 12
        assert len({one.car.team_id for one in board.counted}) >= 3
        assert CoachLink.objects.filter(coach=by).count() == 6
        (car, most), (_, next_most), *_ = board_shown(board, by).often
        assert car.number == BENT
        bent: dict[str, Any] = next(
            car["bent"]
            for team in load("club.json")["school"]
            for car in team["cars"]
            if car["number"] == BENT
        )
        odd = {str(row.key) for row in board.rows if BENT in [one.car.number for one, _ in row.odd]}
        assert bent.keys() <= odd
        assert most >= 2 * next_most


def test_advice_is_open_answered_and_followed(cast: Cast) -> None:
    with viewing_as(cast["ruben"].pk):
        done = Advice.objects.get(done_at__isnull=False)
        found = since(done)
        assert found
        assert found.outcome == "there"
        waiting = Advice.objects.filter(done_at__isnull=True)
        assert Advice.objects.standing().filter(pk__in=waiting).count() == 1
        assert sorted(row.replies.count() for row in waiting) == [0, 1]
