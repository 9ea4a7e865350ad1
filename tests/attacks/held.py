"""What a victim has, and SQL of an attacker's own as the service's role."""

from dataclasses import dataclass
from typing import Any

import psycopg
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.db import Error, connection, transaction
from django.test import Client

from clubsetup.access.account import make_token
from clubsetup.access.models import ApiToken, User
from clubsetup.access.sessions import SessionStore, kept_as
from clubsetup.access.viewer import signing_in, viewing_as
from tests.people import People

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
