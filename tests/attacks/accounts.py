"""What attacks on accounts share: addresses, browsers, and showing who one is."""

from typing import Any

from allauth.account.models import EmailAddress
from allauth.mfa.totp.internal.auth import TOTP, format_hotp_value, hotp_value
from allauth.mfa.totp.internal.auth import yield_hotp_counters_from_time as counters
from django.test import Client
from django.urls import reverse

from clubsetup.access import account
from clubsetup.access.models import User
from clubsetup.access.viewer import signing_in, viewing_as

LOGIN = "/accounts/login/"
EMAIL = "/accounts/email/"
CHANGE = "/accounts/password/change/"
NEW = "another-lantern-5"
PASSWORD = "correct horse 9"


def confirmed(user: User, email: str = "", *, verified: bool = True) -> EmailAddress:
    """An address of that person, confirmed or not."""
    address = email or user.email
    with signing_in(address=address), viewing_as(user.pk):
        return EmailAddress.objects.create(
            user=user, email=address, verified=verified, primary=not email
        )


def signed_in(user: User, **more: Any) -> Client:
    """A browser in which that person signed in by password a while ago."""
    client = Client(**more)
    client.post(LOGIN, {"login": user.email, "password": PASSWORD})
    assert is_in(client)
    return client


def is_in(client: Client) -> bool:
    """Whether the browser still opens the start page."""
    return client.get("/").status_code == 200


def again(client: Client, password: str = PASSWORD) -> Client:
    """The same browser after its person has shown once more who it is."""
    client.post("/accounts/reauthenticate/", {"password": password})
    return client


def asks_again(answer: Any) -> bool:
    """Whether the answer leads to the page that asks for the password again."""
    again = "/accounts/reauthenticate/"
    return bool(answer.status_code == 302 and answer["Location"].startswith(again))


def token_of(user: User) -> dict[str, str]:
    with viewing_as(user.pk):
        secret = account.make_token(by=user, name="board", scopes=["read"], days=30)[1]
    return {"Authorization": f"Bearer {secret}"}


def opens(token: dict[str, str]) -> bool:
    return Client().get(reverse("api-me"), headers=token).status_code == 200


def totp_of(user: User, secret: str = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP") -> str:
    with viewing_as(user.pk):
        TOTP.activate(user, secret)
    return secret


def code_now(secret: str) -> str:
    return str(format_hotp_value(hotp_value(secret, next(iter(counters())))))
