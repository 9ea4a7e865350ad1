"""Two people at once, on two connections: what must happen once happens once."""

import threading
import time
from collections.abc import Callable, Iterator

import pytest
from django.db import connection, connections
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.access.errors import WrongState
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.clubs import remove_club_member
from teams.actions.invitations import accept_invitation, invite
from teams.actions.teams import remove_team_member
from teams.models import ClubMember, TeamMember
from tests.people import People, join
from tests.standing_people import committed_people
from tests.teams.conftest import fresh


@pytest.fixture
def committed(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[People]:
    """Everybody, committed, so that a second connection sees them; emptied by the owner."""
    with django_db_blocker.unblock(), committed_people() as people:
        yield people


def wait_for_a_waiting_one() -> None:
    """Returns when another connection waits for a lock that this transaction holds."""
    with connection.cursor() as cursor:
        for _ in range(2000):
            cursor.execute(
                "SELECT count(*) FROM pg_locks WHERE NOT granted "
                "AND pg_backend_pid() = ANY (pg_blocking_pids(pid))"
            )
            row = cursor.fetchone()
            if row and row[0]:
                return
            time.sleep(0.005)
    raise AssertionError("the second one never waited for the first")


def at_once(first: User, second: User, doing: Callable[[User], object]) -> list[str]:
    """The first does it and commits only when the second waits; what each came to."""
    came_to: dict[str, str] = {}
    done = threading.Event()

    def follow() -> None:
        done.wait(20)
        try:
            with viewing_as(second.pk):
                doing(second)
            came_to["second"] = "done"
        except WrongState as refused:
            came_to["second"] = str(refused)
        finally:
            connections.close_all()

    follower = threading.Thread(target=follow)
    follower.start()
    with viewing_as(first.pk):
        doing(first)
        done.set()
        wait_for_a_waiting_one()
    follower.join(30)
    return ["done", came_to["second"]]


def test_the_last_two_chiefs_cannot_both_leave(committed: People) -> None:
    people = committed
    join(fresh(people.chief), people.stranger, people.club, "chief", people.team)

    def leave(by: User) -> None:
        mine = TeamMember.objects.select_related("team").get(user=by)
        remove_team_member(by=by, member=mine)

    came_to = at_once(fresh(people.chief), fresh(people.stranger), leave)
    assert came_to[0] == "done"
    assert "without a chief" in came_to[1]
    with viewing_as(people.stranger.pk):
        assert TeamMember.objects.filter(team=people.team, role="chief").count() == 1


def test_the_last_two_stewards_cannot_both_leave(committed: People) -> None:
    people = committed
    join(fresh(people.steward), people.stranger, people.club, "steward")

    def leave(by: User) -> None:
        mine = ClubMember.objects.select_related("club").get(user=by)
        remove_club_member(by=by, member=mine)

    came_to = at_once(fresh(people.steward), fresh(people.stranger), leave)
    assert "without a steward" in came_to[1]


def test_one_link_lets_one_person_in(committed: People) -> None:
    people = committed
    chief = fresh(people.chief)
    with viewing_as(chief.pk):
        _, secret = invite(by=chief, club=people.club, team=people.team, role="crew")

    def take_up(by: User) -> None:
        accept_invitation(by=by, secret=secret)

    came_to = at_once(fresh(people.stranger), fresh(people.other_steward), take_up)
    assert "used" in came_to[1]
    with viewing_as(chief.pk):
        assert TeamMember.objects.filter(team=people.team).count() == 4
