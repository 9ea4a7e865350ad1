"""Two people at once, on two connections: what must happen once happens once."""

from collections.abc import Iterator

import pytest
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.clubs import remove_club_member
from teams.actions.invitations import accept_invitation, invite
from teams.actions.teams import remove_team_member
from teams.models import ClubMember, TeamMember
from tests.people import People, join
from tests.standing_people import committed_people
from tests.teams.conftest import fresh
from tests.two_connections import at_once


@pytest.fixture
def committed(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[People]:
    """Everybody, committed, so that a second connection sees them; emptied by the owner."""
    with django_db_blocker.unblock(), committed_people() as people:
        yield people


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
