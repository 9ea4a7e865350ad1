"""What the sign-in code does, on tables of which the service's role reads its own rows only."""

import re
from typing import Any

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal import auth as totp
from django.core import mail
from django.core.management import call_command
from django.db import connections
from django.test import Client
from django.test.utils import CaptureQueriesContext

from clubsetup.access.models import User
from clubsetup.access.sessions import SessionStore
from clubsetup.access.viewer import signing_in, viewing_as
from tests.attacks.accounts import again
from tests.people import People, account_of

pytestmark = pytest.mark.django_db
LOGIN = "/accounts/login/"
EMAIL = "/accounts/email/"
PASSWORD = "correct horse 9"
SECRET = "JBSWY3DPEHPK3PXP"
SECOND = "chief.too@example.org"


def sign_in(address: str = "chief@example.org", password: str = PASSWORD) -> Client:
    client = Client()
    client.post(LOGIN, {"login": address, "password": password})
    return client


def signed_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def addresses(who: User) -> dict[str, tuple[bool, bool]]:
    """Whether each is confirmed, and the one that counts."""
    with viewing_as(who.pk):
        rows = EmailAddress.objects.filter(user=who)
        return {row.email: (row.verified, row.primary) for row in rows}


def with_second_address(people: People, settings: Any = None) -> Client:
    """The chief's browser, with another address added and not confirmed."""
    client = again(sign_in())
    if settings:
        settings.MAIL_IS_SET_UP = True
    mail.outbox.clear()
    client.post(EMAIL, {"action_add": "", "email": SECOND})
    assert addresses(people.chief)[SECOND] == (False, False)
    return client


def confirm(client: Client) -> None:
    """Follows the link of the last mail to the second address."""
    (message,) = [one for one in mail.outbox if one.to == [SECOND]]
    found = re.search(r"/accounts/confirm-email/[^/\s]+/", str(message.body))
    assert found
    assert client.get(found[0]).status_code in (200, 302)
    client.post(found[0])


def test_an_added_address_is_confirmed_by_its_link_and_used(people: People, settings: Any) -> None:
    client = with_second_address(people, settings)
    confirm(client)
    assert addresses(people.chief)[SECOND][0]
    client.post(EMAIL, {"action_primary": "", "email": SECOND})
    assert addresses(people.chief)[SECOND] == (True, True)
    assert signed_in(sign_in(SECOND))
    found = account_of(SECOND)
    assert found is not None
    assert found.email == SECOND


def test_the_link_works_for_who_is_not_signed_in(people: People, settings: Any) -> None:
    with_second_address(people, settings)
    confirm(Client())
    assert addresses(people.chief)[SECOND][0]


def test_an_address_that_another_confirmed_is_not_confirmed_again(
    people: People, settings: Any
) -> None:
    confirm(with_second_address(people, settings))
    mail.outbox.clear()
    client = sign_in("crew@example.org")
    assert client.post(EMAIL, {"action_add": "", "email": SECOND}).status_code < 500
    for message in mail.outbox:
        for link in re.findall(r"/accounts/confirm-email/[^/\s]+/", str(message.body)):
            assert client.post(link).status_code < 500
    assert not addresses(people.crew).get(SECOND, (False, False))[0]
    assert addresses(people.chief)[SECOND][0]


def test_an_address_is_removed(people: People) -> None:
    client = with_second_address(people)
    client.post(EMAIL, {"action_remove": "", "email": SECOND})
    assert SECOND not in addresses(people.chief)


def test_a_changed_password_signs_in(people: People) -> None:
    client = sign_in()
    new = {"oldpassword": PASSWORD, "password1": "a-new-lantern-8", "password2": "a-new-lantern-8"}
    client.post("/accounts/password/change/", new)
    assert not signed_in(sign_in())
    assert signed_in(sign_in(password="a-new-lantern-8"))


def test_a_one_time_code_is_asked_for_and_taken(
    people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(totp, "yield_hotp_counters_from_time", lambda: iter([7]))
    with viewing_as(people.chief.pk):
        totp.TOTP.activate(people.chief, SECRET)
    client, where = sign_in(), "/accounts/2fa/authenticate/"
    assert not signed_in(client)
    assert client.get(where).status_code == 200
    right = totp.format_hotp_value(totp.hotp_value(SECRET, 7))
    client.post(where, {"code": str(int(right[0]) ^ 1) + right[1:]})
    assert not signed_in(client)
    client.post(where, {"code": right})
    assert signed_in(client)
    with viewing_as(people.chief.pk):
        assert Authenticator.objects.get().last_used_at is not None


def test_a_sign_in_is_noted_with_the_person(people: People) -> None:
    assert signed_in(sign_in())
    with signing_in(person=people.chief.pk):
        assert User.objects.get(pk=people.chief.pk).last_login is not None


def test_the_signature_asks_nothing_more_of_the_database(people: People) -> None:
    """Session, person, viewer: one statement each, as before there was a signature."""
    client = sign_in()
    with CaptureQueriesContext(connections["default"]) as asked:
        client.get("/accounts/password/change/")
    said = [one["sql"] for one in asked.captured_queries if "SAVEPOINT" not in one["sql"]]
    assert "access.session(" in said[0]
    assert "access.account(" in said[1]
    assert "set_config" in said[2]
    assert len([one for one in said if "set_config" in one]) == 1


def test_sessions_whose_time_is_over_are_forgotten(people: People) -> None:
    kept, over = SessionStore(), SessionStore()
    for session, seconds in ((kept, 60), (over, -60)):
        session.set_expiry(seconds)
        session.create()
    assert SessionStore().exists(str(over.session_key))
    assert SessionStore(over.session_key).load() == {}
    call_command("clearsessions")
    assert not SessionStore().exists(str(over.session_key))
    assert SessionStore().exists(str(kept.session_key))
