"""Changing how somebody signs in without their hearing of it."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.core.mail import EmailMessage

from clubsetup.access.models import ApiToken
from clubsetup.access.viewer import viewing_as
from tests.attacks.accounts import (
    CHANGE,
    EMAIL,
    NEW,
    PASSWORD,
    again,
    code_now,
    confirmed,
    signed_in,
)
from tests.people import People

pytestmark = pytest.mark.django_db
Letters = Callable[[Callable[[], Any]], list[EmailMessage]]


class TestLetters:
    def bodies(self, told: list[EmailMessage]) -> dict[str, str]:
        assert all(len(letter.to) == 1 for letter in told)
        return {letter.to[0]: str(letter.body) for letter in told}

    def test_tell_of_a_password_at_every_confirmed_address(
        self, people: People, letters: Letters
    ) -> None:
        confirmed(people.chief)
        confirmed(people.chief, "two@example.org")
        confirmed(people.chief, "never@example.org", verified=False)
        browser = signed_in(people.chief)
        given = {"oldpassword": PASSWORD, "password1": NEW, "password2": NEW}
        told = self.bodies(letters(lambda: browser.post(CHANGE, given)))
        assert set(told) == {"chief@example.org", "two@example.org"}
        assert "Your password was changed." in told["two@example.org"]

    def test_tell_of_addresses_where_they_stood_before(
        self, people: People, letters: Letters
    ) -> None:
        confirmed(people.chief)
        confirmed(people.chief, "two@example.org")
        browser = again(signed_in(people.chief))
        post = browser.post
        two = {"email": "two@example.org"}
        told = self.bodies(letters(lambda: post(EMAIL, {**two, "action_primary": ""})))
        assert set(told) == {"chief@example.org", "two@example.org"}
        assert "sign in with is now two@example.org" in told["chief@example.org"]
        old = {"email": "chief@example.org"}
        told = self.bodies(letters(lambda: post(EMAIL, {**old, "action_remove": ""})))
        assert set(told) == {"chief@example.org", "two@example.org"}
        assert "removed: chief@example.org" in told["chief@example.org"]
        new = {"email": "thief@example.net", "action_add": ""}
        told = self.bodies(letters(lambda: post(EMAIL, new)))
        assert "added: thief@example.net" in told["two@example.org"]
        assert "added" not in told["thief@example.net"]  # that one gets the link alone

    def test_tell_of_tokens_and_of_second_factors(self, people: People, letters: Letters) -> None:
        confirmed(people.chief)
        browser = again(signed_in(people.chief))
        wanted = {"name": "pit board", "scopes": ["read"], "days": "30"}
        told = letters(lambda: browser.post("/me/tokens/new", wanted))
        assert "pit board" in told[0].body
        browser.get("/accounts/2fa/totp/activate/")
        code = code_now(browser.session["mfa.totp.secret"])
        told = letters(lambda: browser.post("/accounts/2fa/totp/activate/", {"code": code}))
        assert "One-time codes from an app can be used" in told[0].body
        told = letters(lambda: browser.post("/accounts/2fa/totp/deactivate/"))
        assert "One-time codes from an app cannot be used any more" in told[0].body

    def test_hold_no_secret_and_no_link(self, people: People, letters: Letters) -> None:
        confirmed(people.chief)
        browser = again(signed_in(people.chief))
        wanted = {"name": "pit board", "scopes": ["read"], "days": "30"}
        page: list[Any] = []
        told = letters(lambda: page.append(browser.post("/me/tokens/new", wanted)))
        found = re.search(r'id="secret"[^>]*value="([^"]+)"', page[0].content.decode())
        assert found
        assert found.group(1) not in told[0].body
        assert "http" not in told[0].body

    def test_that_cannot_be_sent_undo_nothing(
        self, people: People, letters: Letters, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        confirmed(people.chief)
        browser = again(signed_in(people.chief))

        def fails(*_: Any, **__: Any) -> None:
            raise OSError("the mail server is away")

        monkeypatch.setattr(EmailMessage, "send", fails)
        wanted = {"name": "pit board", "scopes": ["read"], "days": "30"}
        letters(lambda: browser.post("/me/tokens/new", wanted))
        with viewing_as(people.chief.pk):
            assert ApiToken.objects.filter(name="pit board").exists()
