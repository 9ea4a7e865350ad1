"""What somebody from outside a team reads of a child's stands in the team's trail, once a day."""

import time
from uuid import RFC_4122

import pytest
from django.db import connection

from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine
from clubsetup.access.outside_reads import note_read
from clubsetup.access.viewer import viewing_as
from tests.guards.world import World, undone


def lines(w: World) -> list[tuple[object, ...]]:
    """The lines 'read' in the team's trail, as its guest reads them."""
    with viewing_as(w.people.guest.pk):
        read = TrailLine.objects.filter(team_id=w.people.team.pk, did="read")
        return list(read.values_list("by_id", "on_kind", "on_id"))


def test_a_read_from_outside_is_one_line_a_day(world: World) -> None:
    team, driver = world.people.team.pk, world.driver
    outside = (world.people.coach, world.people.official, world.people.steward)
    with undone():
        for who in outside:
            with viewing_as(who.pk):
                assert note_read(team_id=team, on=driver)
                assert not note_read(team_id=team, on=driver)
        wanted = {(who.pk, "teams.driver", driver.pk) for who in outside}
        assert len(lines(world)) == 3
        assert set(lines(world)) == wanted


@pytest.mark.parametrize("who", ["chief", "crew", "guest", "rival", "unlinked", "stranger"])
def test_neither_the_teams_own_nor_those_without_a_right_leave_a_line(
    who: str, world: World
) -> None:
    person = world.who()[who]
    assert person is not None
    with undone():
        with viewing_as(person.pk):
            assert not note_read(team_id=world.people.team.pk, on=world.driver)
        assert not lines(world)


@pytest.mark.parametrize(
    "kind",
    ["teams.driver", "teams.club", "access.user", "no.such", "teams_driver", 'teams"."driver', ""],
)
def test_no_line_about_what_is_not_a_row_of_the_team(kind: str, world: World) -> None:
    with undone():
        with viewing_as(world.people.coach.pk), connection.cursor() as cursor:
            cursor.execute(
                "SELECT access.note_read(%s, %s, %s)", [world.people.team.pk, kind, new_id()]
            )
            assert cursor.fetchone() == (False,)
        assert not lines(world)


def test_a_line_that_the_database_writes_stands_in_the_order_of_time(world: World) -> None:
    """Trails are read page by page in the order of their ids."""
    people, made = world.people, []
    with undone():
        for _ in range(5):
            made.append(new_id())
            time.sleep(0.002)  # ids of one millisecond are in no order
            with viewing_as(people.coach.pk), connection.cursor() as cursor:
                cursor.execute("SELECT access.new_id()")
                made.append(cursor.fetchone()[0])
            time.sleep(0.002)
    assert made == sorted(made)
    assert {(one.version, one.variant) for one in made} == {(7, RFC_4122)}
