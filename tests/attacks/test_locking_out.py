"""Shutting other people out, by wrong passwords and from behind a proxy."""

import importlib
from typing import Any

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.test import Client

from clubsetup.access import devices
from clubsetup.settings import safety
from clubsetup.settings.proxies import trusted_proxies
from tests.owner import bend
from tests.people import People

pytestmark = pytest.mark.django_db
LOGIN = "/accounts/login/"
PASSWORD = "correct horse 9"


def sign_in(client: Client, password: str = PASSWORD, who: str = "chief", **more: Any) -> bool:
    client.post(LOGIN, {"login": f"{who}@example.org", "password": password}, **more)
    return "_auth_user_id" in client.session


def wrong(client: Client, times: int, who: str = "chief", **more: Any) -> None:
    for _ in range(times):
        assert not sign_in(client, "wrong", who, **more)


def own_device(who: str = "chief") -> Client:
    """A device on which that person has signed in, and out again."""
    client = Client()
    assert sign_in(client, who=who)
    signed_out = client.post("/accounts/logout/")
    # As a browser does at this header: every cookie goes, and the address leads on.
    assert signed_out["Clear-Site-Data"] == '"cache", "cookies"'
    client.cookies.clear()
    client.get(signed_out["Location"])
    assert "_auth_user_id" not in client.session
    return client


class TestWrongPasswords:
    def test_do_not_keep_the_person_out_of_their_own_device(self, people: People) -> None:
        own = own_device()
        wrong(Client(), 6, REMOTE_ADDR="192.0.2.7")
        assert not sign_in(Client())  # from a device that nobody knows: shut
        assert sign_in(own)

    def test_on_the_own_device_are_counted_too(self, people: People) -> None:
        own = own_device()
        wrong(own, 5)
        assert not sign_in(own)

    def test_a_device_known_to_one_person_is_not_to_another(self, people: People) -> None:
        tablet = own_device("official")
        wrong(Client(), 6, REMOTE_ADDR="192.0.2.7")
        assert not sign_in(tablet)

    def test_a_mark_made_up_or_of_an_older_password_is_worth_nothing(self, people: People) -> None:
        own = own_device()
        people.chief.set_password("another horse 7")
        bend(people.chief, password=people.chief.password)
        wrong(Client(), 6, REMOTE_ADDR="192.0.2.7")
        assert not sign_in(own, "another horse 7")
        forged = Client()
        forged.cookies["device"] = f'["{devices.mark_of(people.chief)}"]'
        assert not sign_in(forged, "another horse 7")

    def test_a_tablet_remembers_twelve_people_and_no_names(self, people: People) -> None:
        tablet = own_device("chief")
        cookie = tablet.cookies["device"].value
        assert str(people.chief.pk) not in cookie
        assert "chief" not in cookie


class TestBehindAProxy:
    def test_the_clients_address_counts_and_not_the_proxys(
        self, people: People, settings: Any
    ) -> None:
        settings.ALLAUTH_TRUSTED_PROXY_COUNT = 1
        attacker = {"REMOTE_ADDR": "10.0.0.1", "HTTP_X_FORWARDED_FOR": "203.0.113.9"}
        for n in range(10):
            wrong(Client(), 1, f"nobody{n}", **attacker)
        assert not sign_in(Client(), **attacker)
        other = {"REMOTE_ADDR": "10.0.0.1", "HTTP_X_FORWARDED_FOR": "203.0.113.10"}
        assert sign_in(Client(), **other)

    def test_an_address_the_client_made_up_is_not_believed(
        self, people: People, settings: Any
    ) -> None:
        settings.ALLAUTH_TRUSTED_PROXY_COUNT = 1
        for n in range(10):
            said = f"198.51.100.{n}, 203.0.113.9"
            wrong(Client(), 1, f"nobody{n}", HTTP_X_FORWARDED_FOR=said)
        assert not sign_in(Client(), HTTP_X_FORWARDED_FOR="198.51.100.99, 203.0.113.9")

    def test_a_request_past_the_proxies_is_answered(self, people: People, settings: Any) -> None:
        settings.ALLAUTH_TRUSTED_PROXY_COUNT = 2
        assert sign_in(Client(), HTTP_X_FORWARDED_FOR="203.0.113.9")


@pytest.mark.parametrize("given", ["-1", "two", "6", "1.5"])
def test_a_number_of_proxies_that_cannot_be_right_is_refused(given: str) -> None:
    with pytest.raises(ValueError, match="the number of proxies"):
        trusted_proxies(given, https=False)


def test_behind_tls_there_is_a_proxy() -> None:
    assert trusted_proxies("", https=True) == 1
    assert trusted_proxies("", https=False) == 0
    with pytest.raises(ValueError, match="at least 1"):
        trusted_proxies("0", https=True)


def test_the_service_does_not_start_with_one(monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as changed:
        changed.setenv("CLUBSETUP_TRUSTED_PROXIES", "many")
        with pytest.raises(ImproperlyConfigured, match="CLUBSETUP_TRUSTED_PROXIES"):
            importlib.reload(safety)
    importlib.reload(safety)
