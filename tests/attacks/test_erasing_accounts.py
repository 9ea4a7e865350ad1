"""What is left of a person after they had their account erased, and what they can still do."""

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction
from django.db.models import CASCADE
from django.test import Client
from django.urls import reverse

from clubsetup.access.account import make_token
from clubsetup.access.models import ApiToken, TrailLine, User
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from teams.actions.invitations import invite
from teams.models import Invitation
from tests.attacks.accounts import again
from tests.attacks.test_erasing_drivers import held_anywhere
from tests.markup import one_line
from tests.owner import rows_as_owner
from tests.people import People, show_again

PASSWORD = "correct horse 9"


def sign_in(client: Client, who: User) -> int:
    given = {"login": who.email, "password": PASSWORD}
    return client.post(reverse("account_login"), given).status_code


@pytest.fixture
def leaving(people: People, client: Client) -> People:
    """One of the crew, signed in, with a token, who has done something in the team."""
    crew = people.crew
    assert sign_in(client, crew) == 302
    again(client, PASSWORD)
    with viewing_as(crew.pk):
        add_driver(by=crew, team=people.team, display_name="Sky")
    return people


def test_the_page_says_what_goes_and_what_stays(leaving: People, client: Client) -> None:
    page = client.get(reverse("account-erase")).content.decode()
    assert "Your passkeys, one-time codes and recovery codes" in page
    assert "'Erased person'" in one_line(page).replace("&#x27;", "'")
    with viewing_as(leaving.crew.pk):
        assert User.objects.get(pk=leaving.crew.pk).is_active


def test_name_address_and_ways_in_go(leaving: People, client: Client) -> None:
    crew = leaving.crew
    with viewing_as(crew.pk):
        _, secret = make_token(by=crew, name="Mine", scopes=["read"], days=30)
    other, api = Client(), {"HTTP_AUTHORIZATION": f"Bearer {secret}"}
    assert sign_in(other, crew) == 302
    assert Client().get("/api/v1/me", **api).status_code == 200  # type: ignore[arg-type]
    assert client.post(reverse("account-erase")).status_code == 302
    assert client.get(reverse("me")).status_code == 302
    assert other.get(reverse("me")).status_code == 302
    assert Client().get("/api/v1/me", **api).status_code == 401  # type: ignore[arg-type]
    assert sign_in(Client(), crew) == 200
    assert held_anywhere(leaving, "crew@example.org") == set()
    with viewing_as(crew.pk):
        assert not ApiToken.objects.exists()
    with connection.cursor() as cursor:
        cursor.execute("SELECT name FROM access_user WHERE id = %s", [crew.pk])
        assert cursor.fetchone() == ("Erased person",)


def test_what_they_did_stays_by_an_erased_person(leaving: People, client: Client) -> None:
    client.post(reverse("account-erase"))
    show_again(client, leaving.chief)
    page = client.get(reverse("team-trail", args=[leaving.team.pk])).content.decode()
    assert "added a driver" in page
    assert "Erased person" in page
    team = client.get(reverse("team", args=[leaving.team.pk])).content.decode()
    assert "Erased person" not in team  # they are in no team any more


def test_their_own_trail_goes_but_for_the_erasure(leaving: People, client: Client) -> None:
    with viewing_as(leaving.crew.pk):
        assert TrailLine.objects.filter(did="signed_in").count() == 1
    client.post(reverse("account-erase"))
    with viewing_as(leaving.crew.pk):
        own = TrailLine.objects.filter(team_id=None, club_id=None)
        assert list(own.values_list("did", flat=True)) == ["erased"]


@pytest.mark.parametrize(
    ("who", "said"),
    [("chief", "You are the only chief of Wrens"), ("steward", "You are the only steward of")],
)
def test_who_leads_alone_is_told_the_way_out(
    people: People, client: Client, who: str, said: str
) -> None:
    person = getattr(people, who)
    show_again(client, person)
    answer = client.post(reverse("account-erase"), follow=True)
    assert said in answer.content.decode()
    with viewing_as(person.pk):
        assert User.objects.get(pk=person.pk).name == person.name
        with pytest.raises(DatabaseError, match="without a chief"), transaction.atomic():
            connection.cursor().execute("SELECT access.erase_account()")


def test_links_that_nobody_took_up_open_nothing(people: People, client: Client) -> None:
    official = people.chief
    with viewing_as(official.pk):
        invitation, secret = invite(by=official, club=people.club, team=people.team, role="chief")
    second = User.objects.create_user("second@example.org", PASSWORD, name="Second")
    show_again(client, second)
    assert client.post(reverse("join-accept", args=[secret])).status_code == 302
    with viewing_as(official.pk):
        open_one, late = invite(by=official, club=people.club, team=people.team, role="crew")
    show_again(client, official)
    assert client.post(reverse("account-erase")).status_code == 302
    with viewing_as(second.pk):
        assert Invitation.objects.get(pk=open_one.pk).withdrawn_at
        assert Invitation.objects.get(pk=invitation.pk).withdrawn_at is None
    show_again(client, people.stranger)
    assert client.get(reverse("join", args=[late])).status_code == 410


def test_sign_ins_stand_in_ones_own_trail_alone(people: People, client: Client) -> None:
    assert sign_in(client, people.crew) == 302
    page = client.get(reverse("my-trail")).content.decode()
    assert "signed in" in page
    assert "new to this account" in page
    for who in (people.chief, people.steward, people.stranger):
        with viewing_as(who.pk):
            assert not TrailLine.objects.filter(did="signed_in").exists()


def test_no_table_keeps_what_was_the_persons_alone(leaving: People, client: Client) -> None:
    """Of every row that would go with its person, none is left."""
    assert sign_in(Client(), leaving.crew) == 302
    client.post(reverse("account-erase"))
    remaining = set()
    for model in apps.get_models():
        for field in model._meta.concrete_fields:
            relation = field.remote_field
            if field.related_model is not User or relation is None:
                continue
            if relation.on_delete is not CASCADE:
                continue
            rows = rows_as_owner(model._meta.db_table)
            if any(row[str(field.column)] == str(leaving.crew.pk) for row in rows):
                remaining.add(f"{model._meta.label}.{field.name}")
    assert remaining == set()
