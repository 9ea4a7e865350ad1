"""Somebody who runs SQL of their own as the service's role, and wants another person's account.

Each attempt runs while a person of the same team is looking, as through a hole in a page. It must
be refused or come back without anything of the victim's, and leave everything of theirs as it was.
"""

import hashlib
import hmac
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import psycopg
import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.contrib.sessions.backends.base import UpdateError
from django.core.management import call_command
from django.db import Error, connection, connections, transaction
from django.test import Client
from django.utils import timezone
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.access import signing
from clubsetup.access.models import ApiToken, User
from clubsetup.access.own import make_token
from clubsetup.access.sessions import SessionStore, kept_as
from clubsetup.access.viewer import (
    SIGNING_IN,
    VIEWER,
    current_viewer,
    set_local,
    set_viewer,
    signing_in,
    viewing_as,
)
from clubsetup.runtime.signing_key import signing_key
from teams.models import Team
from tests.attacks.people_statements import READS, WRITES
from tests.guards.world import undone
from tests.people import People, make_people

TOTP = "JBSWY3DPEHPK3PXP"
SECOND = "second.address@example.org"


@dataclass
class Held:
    """What the victim has, and what must never come out."""

    victim: User
    attacker: User
    session: str
    token: ApiToken
    totp: Authenticator

    def secrets(self) -> list[str]:
        return [
            self.victim.password,
            self.victim.email,
            SECOND,
            TOTP,
            self.token.digest,
            self.session,
            kept_as(self.session),
        ]

    def state(self) -> list[Any]:
        """Everything of the victim's, as the sign-in code finds it."""
        with signing_in(person=self.victim.pk):
            rows = [
                *User.objects.filter(pk=self.victim.pk).values_list(),
                *EmailAddress.objects.filter(user=self.victim).values_list(),
                *Authenticator.objects.filter(user=self.victim).values_list(),
            ]
        with viewing_as(self.victim.pk):
            rows += ApiToken.objects.filter(user=self.victim).values_list()
        return [*rows, SessionStore(self.session).load()]


@pytest.fixture(scope="module")
def standing(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Held]:
    """Made once; each attempt is undone."""
    with django_db_blocker.unblock(), undone():
        yield made(make_people())


@pytest.fixture
def held(standing: Held, django_db_blocker: DjangoDbBlocker) -> Iterator[Held]:
    with django_db_blocker.unblock(), undone():
        yield standing


def made(people: People) -> Held:
    victim = people.chief
    client = Client()
    client.force_login(victim)
    for address in (victim.email, SECOND):
        with signing_in(address=address), viewing_as(victim.pk):
            EmailAddress.objects.create(
                user=victim, email=address, verified=True, primary=address == victim.email
            )
    with viewing_as(victim.pk):
        totp = Authenticator.objects.create(user=victim, type="totp", data={"secret": TOTP})
        token, _ = make_token(by=victim, name="x", scopes=["read"], days=1)
    found = Held(victim, people.crew, str(client.session.session_key), token, totp)
    assert all(found.state())
    return found


def outcome(statement: str, given: dict[str, Any]) -> list[Any]:
    """What the role gets to see; nothing where it is refused."""
    seen: list[Any] = []
    connection.connection.add_notice_handler(told := seen_in(seen))
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement, given)
            while True:
                if cursor.description:
                    seen += cursor.fetchall()
                if not cursor.nextset():
                    break
    except Error as refused:
        seen.append(str(refused))
    finally:
        connection.connection.remove_notice_handler(told)
    return seen


def seen_in(seen: list[Any]) -> Any:
    def told(notice: psycopg.errors.Diagnostic) -> None:
        seen.append(notice.message_primary)

    return told


def given_to(held: Held) -> dict[str, Any]:
    return {
        "victim": str(held.victim.pk),
        "attacker": str(held.attacker.pk),
        "email": held.victim.email,
        "session": kept_as(held.session),
    }


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


def mac(text: str) -> str:
    return hmac.new(signing_key(), text.encode(), hashlib.sha256).hexdigest()


def here() -> int:
    return int(connection.connection.info.backend_pid)


def forged(held: Held) -> dict[str, str]:
    """Every way to name the victim as the viewer without the service having said so here."""
    who = str(held.victim.pk)
    own = signing.signed(signing.VIEWER, str(held.attacker.pk))
    return {
        "bare": who,
        "zeros": f"{'0' * 64} {who}",
        "no space": f"{'0' * 64}{who}",
        "short": f"0 {who}",
        "not hex": f"{'x' * 64} {who}",
        "own MAC on another": f"{own[:64]} {who}",
        "own and another": f"{own} {who}",
        "of another process": f"{mac(f'viewer {here() + 1} {who}')} {who}",
        "of no process": f"{mac(f'viewer {who}')} {who}",
        "of signing in": signing.signed(signing.SIGNING_IN, f"person {who}"),
        "of signing in, cut": f"{signing.signed(signing.SIGNING_IN, who)[:64]} {who}",
        "of a session's person": signing.signed(signing.ACCOUNT, who),
        "in capitals": signing.signed(signing.VIEWER, who).upper(),
        "with the wrong key": hmac.new(b"", f"viewer {here()} {who}".encode(), "sha256").hexdigest()
        + f" {who}",
        "shifted": f"{mac(f'viewer {here()} x {who}')} {who}",
        "null": "",
    }


def test_a_viewer_is_the_one_that_the_service_signed(held: Held) -> None:
    for how, value in forged(held).items():
        with transaction.atomic():
            set_local(VIEWER, value)
            found = repr(outcome("SELECT access.viewer()", {}))
            assert str(held.victim.pk) not in found, how
            assert not Team.objects.exists(), how
            set_local(VIEWER, "")


def test_who_signs_in_is_the_one_that_the_service_signed(held: Held) -> None:
    who = str(held.victim.pk)
    values = [f"{'0' * 64} person {who}", f"person {who}"]
    values += [f"{mac(f'signing_in {here() + 1} person {who}')} person {who}"]
    values += [signing.signed(label, f"person {who}") for label in ("viewer", "account")]
    values += [signing.signed("viewer", f"address {held.victim.email}")]
    values += [signing.signed("viewer", who)]
    with viewing_as(held.attacker.pk):
        for value in values:
            set_local(SIGNING_IN, value)
            seen = repr(outcome("SELECT * FROM access_user; SELECT access.signing_in()", {}))
            assert not [secret for secret in held.secrets() if secret in seen], value
            assert outcome("SELECT access.signing_address()", {}) == [(None,)], value
        set_local(SIGNING_IN, "")


def test_a_session_s_person_is_the_one_that_the_service_signed(held: Held) -> None:
    who = str(held.victim.pk)
    for value in (signing.signed("viewer", who), f"{mac(f'account 1 {who}')} {who}"):
        assert outcome("SELECT * FROM access.account(%(value)s)", {"value": value}) == []


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


@pytest.fixture
def other_key(settings: Any, held: Held) -> Iterator[None]:
    """The service with a new secret key, and the old one again in the database afterwards."""
    was = settings.SECRET_KEY
    settings.SECRET_KEY = "another key " * 5
    yield
    settings.SECRET_KEY = was
    call_command("migrate", verbosity=0)
    connections["owner"].close()


def test_a_new_secret_key_holds_from_the_next_migrate_on(held: Held, other_key: None) -> None:
    with (
        pytest.raises(signing.KeyUnknown, match="does not know"),
        transaction.atomic(),
    ):
        set_viewer(held.victim.pk)
    call_command("migrate", verbosity=0)
    with viewing_as(held.victim.pk):
        assert Team.objects.exists()
