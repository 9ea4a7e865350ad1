"""Taking somebody's account over: by mail, from a browser left signed in, by a weak password."""

import logging
import re
from collections.abc import Callable
from typing import Any

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from django.core import mail
from django.core.exceptions import ValidationError
from django.core.mail import EmailMessage
from django.test import Client
from django.urls import reverse

from clubsetup.access import strength
from clubsetup.access.models import SignIn
from clubsetup.access.second_factor import has_second_factor
from clubsetup.access.viewer import viewing_as
from teams.actions.invitations import invite
from tests.attacks.accounts import (
    CHANGE,
    EMAIL,
    LOGIN,
    NEW,
    PASSWORD,
    again,
    asks_again,
    confirmed,
    is_in,
    opens,
    signed_in,
    token_of,
    totp_of,
)
from tests.people import People, has_password

pytestmark = pytest.mark.django_db
FORGOTTEN = "/accounts/password/reset/"
Letters = Callable[[Callable[[], Any]], list[EmailMessage]]


class TestResetByMail:
    def test_goes_to_no_address_that_was_added_and_not_confirmed(
        self, people: People, mail_is_on: None
    ) -> None:
        confirmed(people.chief)
        confirmed(people.chief, "thief@example.net", verified=False)
        Client().post(FORGOTTEN, {"email": "thief@example.net"})
        assert mail.outbox == []
        Client().post(FORGOTTEN, {"email": "chief@example.org"})
        assert [letter.to for letter in mail.outbox] == [["chief@example.org"]]

    def test_goes_to_no_first_address_that_was_never_confirmed(
        self, people: People, mail_is_on: None
    ) -> None:
        Client().post(FORGOTTEN, {"email": "chief@example.org"})
        assert mail.outbox == []

    def test_writes_to_no_stranger(self, people: People, mail_is_on: None) -> None:
        answer = Client().post(FORGOTTEN, {"email": "anybody@example.net"})
        assert answer.status_code == 302
        assert mail.outbox == []

    def test_ends_what_was_open_before(self, people: People, letters: Letters) -> None:
        confirmed(people.chief)
        token, elsewhere = token_of(people.chief), signed_in(people.chief)
        Client().post(FORGOTTEN, {"email": "chief@example.org"})
        found = re.search(
            r"https?://[^/]+(/accounts/password/reset/key/\S+)", str(mail.outbox[0].body)
        )
        assert found
        browser = Client()
        page = browser.get(found.group(1), follow=True)
        new = {"password1": NEW, "password2": NEW}
        told = letters(lambda: browser.post(page.request["PATH_INFO"], new))
        assert not opens(token)
        assert not is_in(elsewhere)
        assert [t.to for t in told if "password was changed" in t.body] == [["chief@example.org"]]

    def test_says_plainly_that_nothing_is_sent_where_no_mail_leaves(self, people: People) -> None:
        shown = Client().get(FORGOTTEN).content.decode()
        assert "No mail leaves this service" in shown
        assert "Send the link" not in shown
        sent = Client().post(FORGOTTEN, {"email": "chief@example.org"})
        assert sent.status_code == 200
        done = Client().get("/accounts/password/reset/done/").content.decode()
        assert "Nothing was sent" in done
        assert "on its way" not in done
        assert mail.outbox == []


class TestAnAddress:
    def test_opens_nothing_before_it_is_confirmed(self, people: People, mail_is_on: None) -> None:
        browser = Client()
        given = {"login": "chief@example.org", "password": PASSWORD}
        assert browser.post(LOGIN, given)["Location"] == "/accounts/confirm-email/"
        assert not is_in(browser)
        [letter] = mail.outbox
        assert letter.to == ["chief@example.org"]
        found = re.search(r"https?://[^/]+(/accounts/confirm-email/\S+)", str(letter.body))
        assert found
        assert "Is this your address?" in browser.get(found.group(1)).content.decode()
        browser.post(found.group(1))
        browser.post(LOGIN, given)
        assert is_in(browser)

    def test_of_a_new_account_is_confirmed_whoever_sent_the_invitation(
        self, people: People, mail_is_on: None
    ) -> None:
        """A link may have been passed on: it says nothing of whose address is typed."""
        with viewing_as(people.chief.pk):
            _, secret = invite(by=people.chief, club=people.club, team=people.team, role="crew")
        browser, link = Client(), reverse("join", args=[secret])
        browser.get(link)
        given = {"email": "victim@example.net", "name": "W", "password1": NEW, "password2": NEW}
        answer = browser.post("/accounts/signup/", {**given, "next": link})
        assert answer["Location"] == "/accounts/confirm-email/"
        assert not is_in(browser)
        assert mail.outbox[0].to == ["victim@example.net"]

    def test_an_unconfirmed_second_one_neither_signs_in_nor_becomes_the_first(
        self, people: People, mail_is_on: None
    ) -> None:
        confirmed(people.chief)
        confirmed(people.chief, "thief@example.net", verified=False)
        browser = Client()
        browser.post(LOGIN, {"login": "thief@example.net", "password": PASSWORD})
        assert not is_in(browser)
        browser = again(signed_in(people.chief))
        browser.post(EMAIL, {"email": "thief@example.net", "action_primary": ""})
        people.chief.refresh_from_db()
        assert people.chief.email == "chief@example.org"

    def test_the_page_says_that_none_is_confirmed_where_no_mail_leaves(
        self, people: People
    ) -> None:
        browser = again(signed_in(people.chief))
        page = browser.get(EMAIL).content.decode()
        assert "no address can be confirmed" in page
        given = {"email": "two@example.org", "action_add": ""}
        after = browser.post(EMAIL, given, follow=True).content.decode()
        assert "two@example.org" in after
        assert "sent to two@example.org" not in after
        assert mail.outbox == []


class TestABrowserLeftSignedIn:
    @pytest.mark.parametrize(
        "path",
        [
            "/accounts/2fa/totp/activate/",
            "/accounts/2fa/webauthn/add/",
            "/accounts/2fa/recovery-codes/generate/",
            "/me/tokens/new",
            "/me/sign-ins/end",
        ],
    )
    def test_asks_who_it_is_before(self, people: People, path: str) -> None:
        browser = signed_in(people.chief)
        assert asks_again(browser.get(path))
        assert asks_again(browser.post(path, {}))
        assert browser.get(path, follow=True).status_code == 200

    @pytest.mark.parametrize("path", ["/accounts/2fa/totp/deactivate/", "recovery"])
    def test_asks_before_a_second_factor_goes_or_is_shown(self, people: People, path: str) -> None:
        browser = signed_in(people.chief)
        totp_of(people.chief)
        with viewing_as(people.chief.pk):
            RecoveryCodes.activate(people.chief)
        path = "/accounts/2fa/recovery-codes/" if path == "recovery" else path
        assert asks_again(browser.get(path))
        assert asks_again(browser.get("/accounts/2fa/recovery-codes/download/"))
        with viewing_as(people.chief.pk):
            assert has_second_factor(people.chief)

    def test_adds_takes_and_moves_no_address(self, people: People, mail_is_on: None) -> None:
        confirmed(people.chief)
        confirmed(people.chief, "two@example.org")
        browser = signed_in(people.chief)
        assert asks_again(browser.post(EMAIL, {"email": "thief@example.net", "action_add": ""}))
        for action in ("action_remove", "action_primary"):
            assert asks_again(browser.post(EMAIL, {"email": "two@example.org", action: ""}))
        with viewing_as(people.chief.pk):
            held = set(
                EmailAddress.objects.filter(user=people.chief).values_list("email", "primary")
            )
        assert held == {("chief@example.org", True), ("two@example.org", False)}

    def test_makes_no_token_over_the_api(self, people: People) -> None:
        browser = signed_in(people.chief)
        wanted = {"name": "mine now", "scopes": ["read"], "days": 5}
        answer = browser.post(reverse("api-token-list"), wanted, "application/json")
        assert answer.status_code == 403
        assert "once more that it is you" in answer.json()["detail"]
        made = again(browser).post(reverse("api-token-list"), wanted, "application/json")
        assert made.status_code == 201

    def test_changes_no_password_without_the_old_one(self, people: People) -> None:
        browser = signed_in(people.chief)
        browser.post(CHANGE, {"oldpassword": "guess", "password1": NEW, "password2": NEW})
        assert has_password(people.chief, PASSWORD)

    def test_a_wrong_password_does_not_count_as_showing_who_it_is(self, people: People) -> None:
        assert asks_again(again(signed_in(people.chief), "guess").get("/me/tokens/new"))

    def test_showing_who_it_is_holds_for_a_while_only(self, people: People, settings: Any) -> None:
        browser = again(signed_in(people.chief))
        assert browser.get("/me/tokens/new").status_code == 200
        settings.ACCOUNT_REAUTHENTICATION_TIMEOUT = 0
        assert asks_again(browser.get("/me/tokens/new"))


class TestANewPassword:
    def change(self, browser: Client, **more: str) -> None:
        given = {"oldpassword": PASSWORD, "password1": NEW, "password2": NEW}
        assert browser.post(CHANGE, {**given, **more}).status_code == 302

    def test_ends_tokens_and_other_sign_ins_and_keeps_this_one(self, people: People) -> None:
        token, here, there = (token_of(people.chief), *(signed_in(people.chief) for _ in "ab"))
        self.change(here)
        assert (opens(token), is_in(here), is_in(there)) == (False, True, False)
        with viewing_as(people.chief.pk):
            assert SignIn.objects.count() == 1

    def test_keeps_tokens_where_somebody_ticks_it(self, people: People) -> None:
        token, here = token_of(people.chief), signed_in(people.chief)
        self.change(here, keep_tokens="on")
        assert opens(token)

    @pytest.mark.parametrize(
        "weak", ["password2026", "qwertyuiop", "racing2026!", "chief@example.org", "lanternlantern"]
    )
    def test_that_is_soon_guessed_is_refused_in_plain_words(
        self, people: People, weak: str
    ) -> None:
        given = {"oldpassword": PASSWORD, "password1": weak, "password2": weak}
        page = signed_in(people.chief).post(CHANGE, given).content.decode()
        assert "soon guessed" in page or "too common" in page or "too similar" in page
        assert has_password(people.chief, PASSWORD)


def test_no_secret_stands_in_the_log(people: People, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    browser = again(signed_in(people.chief))
    made = browser.post("/me/tokens/new", {"name": "b", "scopes": ["read"], "days": "30"})
    found = re.search(r'id="secret"[^>]*value="([^"]+)"', made.content.decode())
    assert found
    for secret in (found.group(1), PASSWORD, browser.session.session_key):
        assert secret
        assert secret not in caplog.text


def test_a_password_made_to_keep_the_service_busy_is_read_in_short_pieces(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Signs that stand for letters take zxcvbn half a minute where there are many."""
    read: list[str] = []

    def reckon(text: str, **_: Any) -> dict[str, int]:
        read.append(text)
        return {"score": 0}

    monkeypatch.setattr(strength, "zxcvbn", reckon)
    with pytest.raises(ValidationError):
        strength.HardToGuess().validate("4@8({[<369&#!1/|0$5+7%2" * 5)
    assert len(read) == 2
    assert max(map(len, read)) == strength.READ_AT_ONCE


def test_a_long_password_with_a_weak_beginning_may_do(db: None) -> None:
    strength.HardToGuess().validate("passwordpasswordpassword" + "gantry lantern 4 plum")
