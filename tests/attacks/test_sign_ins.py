"""Staying in an account: in a browser left signed in, by a secret read from the tables."""

import importlib
from types import SimpleNamespace
from typing import Any

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP
from django.db import connections
from django.test import Client
from django.urls import reverse

from clubsetup.access import second_factor
from clubsetup.access.models import SignIn, User
from clubsetup.access.second_factor import SecondFactorAdapter
from clubsetup.access.viewer import viewing_as
from tests.attacks.accounts import (
    LOGIN,
    PASSWORD,
    again,
    code_now,
    is_in,
    opens,
    signed_in,
    token_of,
    totp_of,
)
from tests.people import People

pytestmark = pytest.mark.django_db


class TestSignIns:
    def test_are_listed_by_device_and_ended_one_by_one(self, people: People) -> None:
        phone = signed_in(people.chief, headers={"User-Agent": "X (Linux; Android 16) Chrome/150"})
        here = again(signed_in(people.chief))
        page = here.get("/me/").content.decode()
        assert "Chrome on Android" in page
        assert "this browser" in page
        with viewing_as(people.chief.pk):
            lost = SignIn.objects.get(device="Chrome on Android")
        assert (
            "Sign out Chrome on Android?"
            in here.get(f"/me/sign-ins/{lost.pk}/end").content.decode()
        )
        here.post(f"/me/sign-ins/{lost.pk}/end")
        assert (is_in(phone), is_in(here)) == (False, True)

    def test_all_others_end_at_once_and_tokens_if_asked(self, people: People) -> None:
        token, others = token_of(people.chief), [signed_in(people.chief) for _ in range(3)]
        somebody_else, here = signed_in(people.crew), again(signed_in(people.chief))
        here.post("/me/sign-ins/end", {})
        assert not any(is_in(other) for other in others)
        assert is_in(here)
        assert is_in(somebody_else)
        assert opens(token)
        here.post("/me/sign-ins/end", {"tokens": "on"})
        assert not opens(token)

    def test_of_somebody_else_cannot_be_ended(self, people: People) -> None:
        victim = signed_in(people.crew)
        with viewing_as(people.crew.pk):
            theirs = SignIn.objects.get()
        thief = again(signed_in(people.chief))
        assert thief.post(f"/me/sign-ins/{theirs.pk}/end").status_code == 404
        assert thief.delete(reverse("api-sign-in-detail", args=[theirs.pk])).status_code == 404
        assert is_in(victim)

    def test_are_told_and_ended_over_the_api(self, people: People) -> None:
        lost, here = signed_in(people.chief), signed_in(people.chief)
        rows = here.get(reverse("api-sign-in-list")).json()["results"]
        assert len(rows) == 2
        assert set(rows[0]) == {"id", "device", "created_at"}
        path = reverse("api-sign-in-detail", args=[rows[1]["id"]])
        assert here.delete(path).status_code == 403
        assert again(here).delete(path).status_code == 204
        assert (is_in(lost), is_in(here)) == (False, True)

    def test_keep_no_key_that_opens_a_session(self, people: People) -> None:
        browser = signed_in(people.chief)
        with viewing_as(people.chief.pk):
            kept = str(SignIn.objects.values().get())
        assert browser.session.session_key
        assert browser.session.session_key not in kept

    def test_signing_out_takes_the_browser_off_the_list(self, people: People) -> None:
        browser = signed_in(people.chief)
        browser.post("/accounts/logout/")
        with viewing_as(people.chief.pk):
            assert not SignIn.objects.exists()


class TestSecondFactors:
    def test_are_sealed_where_they_are_kept(self, people: People) -> None:
        secret = totp_of(people.chief)
        with viewing_as(people.chief.pk):
            codes = RecoveryCodes.activate(people.chief)
            kept = str(list(Authenticator.objects.values_list("data", flat=True)))
            assert TOTP(Authenticator.objects.get(type="totp")).validate_code(code_now(secret))
            assert codes.validate_code(codes.generate_codes()[0])
        assert secret not in kept
        assert kept.count("gAAAA") == 2

    def test_sealed_by_a_key_of_before_still_open(
        self, people: People, settings: Any, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        before = "x" * 60
        with monkeypatch.context() as patch:
            then = SimpleNamespace(SECRET_KEY=before, SECRET_KEY_FALLBACKS=[])
            patch.setattr(second_factor, "settings", then)
            secret = totp_of(people.chief)
        settings.SECRET_KEY_FALLBACKS = [before]
        with viewing_as(people.chief.pk):
            assert TOTP(Authenticator.objects.get()).validate_code(code_now(secret))

    def test_in_the_clear_or_of_another_service_fit_no_code(
        self, people: People, caplog: pytest.LogCaptureFixture
    ) -> None:
        """Whoever can write into the table alone makes no second factor of their own."""
        secret = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP"
        with viewing_as(people.chief.pk):
            Authenticator.objects.create(user=people.chief, type="totp", data={"secret": secret})
            assert not TOTP(Authenticator.objects.get()).validate_code(code_now(secret))
        assert secret not in caplog.text

    def test_are_asked_for_after_the_password(self, people: People) -> None:
        secret, browser = totp_of(people.chief), Client()
        browser.post(LOGIN, {"login": "chief@example.org", "password": PASSWORD})
        assert not is_in(browser)
        page = browser.get("/accounts/2fa/authenticate/").content.decode()
        assert "One more step" in page
        browser.post("/accounts/2fa/authenticate/", {"code": code_now(secret)})
        assert is_in(browser)


@pytest.mark.django_db(databases=["default", "owner"])
def test_what_was_kept_in_the_clear_is_sealed_by_the_migration() -> None:
    ann = User.objects.using("owner").create(email="ann@example.org", password="!")
    rows = Authenticator.objects.using("owner")
    secret, seed = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP", "ab" * 40
    rows.create(user_id=ann.pk, type="totp", data={"secret": secret})
    rows.create(user_id=ann.pk, type="recovery_codes", data={"seed": seed, "used_mask": 4})
    name = "clubsetup.access.migrations.0004_signing_in_and_back_in"
    importlib.import_module(name).seal(None, SimpleNamespace(connection=connections["owner"]))
    kept = {row.type: row.data for row in rows.filter(user_id=ann.pk)}
    opened = SecondFactorAdapter().decrypt
    assert secret not in str(kept)
    assert seed not in str(kept)
    assert opened(kept["totp"]["secret"]) == secret
    assert opened(kept["recovery_codes"]["seed"]) == seed
    assert kept["recovery_codes"]["used_mask"] == 4
