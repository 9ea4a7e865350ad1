"""A statement is planned once on a connection, and answers each viewer as if it had just come."""

from uuid import UUID

import pytest
from django.db import connection

from clubsetup.access.viewer import viewing_as
from clubsetup.runtime.addresses import PREPARED
from clubsetup.runtime.prepared import MOST_PREPARED
from teams.models import Team
from tests.people import People

# PostgreSQL plans the first five with their values, and then compares (PREPARE, "Notes").
PLANNED_WITH_VALUES = 5
TIMES = int(PREPARED["prepare_threshold"]) + PLANNED_WITH_VALUES + 3


def teams_of(club: UUID) -> list[UUID]:
    return list(Team.objects.filter(club_id=club).order_by().values_list("pk", flat=True))


def plans_kept() -> int:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT coalesce(sum(generic_plans), 0)::int FROM pg_prepared_statements "
            "WHERE statement LIKE %s",
            ["SELECT%teams_team%"],
        )
        return int(cursor.fetchone()[0])


def test_a_plan_that_was_made_for_one_viewer_shows_the_next_no_row_of_theirs(
    people: People,
) -> None:
    for _ in range(TIMES):
        with viewing_as(people.chief.pk):
            assert people.team.pk in teams_of(people.club.pk)
    kept = plans_kept()
    assert kept, "the plan is not kept"
    with viewing_as(people.stranger.pk):
        assert teams_of(people.club.pk) == []
    assert teams_of(people.club.pk) == [], "nobody is looking"
    with viewing_as(people.guest.pk):
        assert people.team.pk in teams_of(people.club.pk)
    assert plans_kept() == kept + 3, "each of them was answered by that plan"


@pytest.mark.django_db
def test_a_connection_keeps_the_plans_of_many_pages() -> None:
    connection.ensure_connection()
    assert connection.connection.prepared_max == MOST_PREPARED
