"""No viewer means no rows, and never an error."""

import pytest
from django.db import connection

from clubsetup.access.viewer import current_viewer, set_viewer, viewing_as
from teams.models import Team
from tests.people import People


def test_the_app_connects_as_a_role_that_owns_nothing(db: None) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolsuper, rolbypassrls FROM pg_roles WHERE rolname = current_user")
        assert cursor.fetchone() == (False, False)
        cursor.execute("SELECT count(*) FROM pg_class WHERE relowner = current_user::regrole")
        assert cursor.fetchone() == (0,)


def test_no_viewer_sees_nothing_and_gets_no_error(people: People) -> None:
    assert current_viewer() is None
    assert list(Team.objects.all()) == []


def test_a_setting_that_was_set_once_and_reverted_still_shows_nothing(people: People) -> None:
    with viewing_as(people.chief.pk):
        assert Team.objects.exists()
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_setting('clubsetup.viewer', true)")
        assert cursor.fetchone() == ("",)
    assert not Team.objects.exists()


@pytest.mark.django_db(transaction=False)
def test_a_viewer_is_set_inside_a_transaction_only(people: People) -> None:
    set_viewer(people.chief.pk)
    assert current_viewer() == people.chief.pk
