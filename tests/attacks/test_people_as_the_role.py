"""Somebody who runs SQL of their own as the service's role, and wants another person's account.

Each attempt runs while a person of the same team is looking, as through a hole in a page. It must
be refused or come back without anything of the victim's, and leave everything of theirs as it was.
"""

from datetime import timedelta

import pytest
from allauth.account.models import EmailAddress
from django.contrib.sessions.backends.base import UpdateError
from django.test import Client
from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.access.sessions import SessionStore, kept_as
from clubsetup.access.viewer import current_viewer, signing_in, viewing_as
from teams.models import Team
from tests.attacks.held import SECOND, TOTP, Held, given_to, outcome
from tests.attacks.people_statements import LEFT_BEHIND, READS, WRITES


@pytest.mark.parametrize("attempt", READS)
def test_nothing_of_another_is_read(attempt: str, held: Held) -> None:
    with viewing_as(held.attacker.pk):
        seen = repr(outcome(READS[attempt], given_to(held)))
    assert not [secret for secret in held.secrets() if secret in seen]


@pytest.mark.parametrize("attempt", WRITES)
def test_nothing_of_another_is_changed(attempt: str, held: Held) -> None:
    before = held.state()
    with viewing_as(held.attacker.pk):
        outcome(WRITES[attempt], given_to(held))
        assert current_viewer() == held.attacker.pk
    assert held.state() == before


@pytest.mark.parametrize("statement", LEFT_BEHIND)
def test_nothing_is_left_behind_for_the_next_on_the_connection(held: Held, statement: str) -> None:
    (said,) = outcome(statement, given_to(held))
    assert "permission denied" in said


def test_the_service_is_believed(held: Held) -> None:
    """What is refused above is let in when it is signed: the attempts test the signature."""
    with viewing_as(held.victim.pk):
        assert Team.objects.exists()
        assert held.victim.email in repr(outcome(READS["the view"], given_to(held)))
        assert TOTP in repr(outcome(READS["second factors"], given_to(held)))
    with signing_in(person=held.victim.pk):
        assert held.victim.password in repr(outcome(READS["the view"], given_to(held)))
    given = {"key": kept_as(held.session)}
    assert outcome("SELECT * FROM access.session(%(key)s, '-infinity')", given)


def test_the_own_password_is_the_sign_in_code_s_too(held: Held) -> None:
    """A hole in a page that the person opens cannot read or set what they sign in with."""
    with viewing_as(held.victim.pk):
        seen = repr(outcome(READS["the view"], given_to(held)))
        assert held.victim.password not in seen
        outcome(WRITES["their password"], given_to(held))
    with signing_in(person=held.victim.pk):
        assert User.objects.get(pk=held.victim.pk).password == held.victim.password


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO access_user (id, password, email, name, is_active, date_joined, "
        "preferred_units) VALUES (gen_random_uuid(), '', %(email)s, '', true, now(), '{}')",
        "UPDATE access_user SET email = %(email)s WHERE id = %(attacker)s",
        'INSERT INTO account_emailaddress (user_id, email, verified, "primary") '
        "VALUES (%(attacker)s, %(email)s, true, false)",
        "UPDATE account_emailaddress SET email = %(email)s, verified = true",
    ],
)
def test_whether_an_address_is_taken_is_not_told(held: Held, statement: str) -> None:
    with signing_in(address=held.attacker.email), viewing_as(held.attacker.pk):
        EmailAddress.objects.create(
            user=held.attacker, email=held.attacker.email, verified=False, primary=True
        )
    said = []
    for address in (held.victim.email, SECOND, "nobody.has.it@example.org"):
        with viewing_as(held.attacker.pk):
            given = {**given_to(held), "email": address}
            said.append(repr(outcome(statement, given)).replace(address, "it"))
    assert len(set(said)) == 1
    assert (
        "denied" in said[0] or "policy" in said[0] or "address" in said[0] or "sign-up" in said[0]
    )


def test_a_session_kept_under_a_chosen_key_opens_nothing(held: Held) -> None:
    content = f'{{"_auth_user_id": "{held.victim.pk}"}}'
    until = timezone.now() + timedelta(days=1)
    given = {"key": kept_as("chosen"), "content": content, "until": until}
    said = outcome("SELECT access.add_session(%(key)s, %(content)s, %(until)s)", given)
    assert said == [(True,)]
    client = Client()
    client.cookies["sessionid"] = "chosen"
    assert client.get("/me/").status_code == 302


def test_what_stands_in_the_table_of_sessions_is_not_a_session_s_key(held: Held) -> None:
    """Nor in the statement that another process of the role is just running."""
    client = Client()
    client.cookies["sessionid"] = kept_as(held.session)
    assert client.get("/me/").status_code == 302
    client.cookies["sessionid"] = held.session
    assert client.get("/me/").status_code == 200


def test_a_session_that_ended_does_not_come_back(held: Held) -> None:
    late = SessionStore(held.session)
    late["x"] = 1
    SessionStore(held.session).delete()
    assert not SessionStore().exists(held.session)
    with pytest.raises(UpdateError):
        late.save()
