"""Signing in and up: by e-mail, by invitation only, and not for ever so many tries."""

import re
from urllib.parse import quote

import pytest
from allauth.account.models import EmailAddress
from django.core import mail
from django.test import Client
from django.urls import reverse

from clubsetup.access.models import User
from clubsetup.access.viewer import signing_in, viewing_as
from teams.actions.invitations import invite, withdraw_invitation
from teams.models import Invitation, TeamMember
from tests.people import People, account_of, close_account, person

PASSWORD = "correct horse 9"
LOGIN = "/accounts/login/"
SIGNUP = "/accounts/signup/"


def invitation_to_team(people: People, role: str = "crew") -> tuple[Invitation, str]:
    with viewing_as(people.chief.pk):
        return invite(by=people.chief, club=people.club, team=people.team, role=role)


def sign_up(client: Client, email: str, next_page: str = "", name: str = "Wilma Fern") -> int:
    given = {"email": email, "name": name, "password1": "lantern-paddock-4", "next": next_page}
    return client.post(SIGNUP, {**given, "password2": "lantern-paddock-4"}).status_code


def signed_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


class TestSigningIn:
    def test_by_address_and_password_in_any_case(self, client: Client, people: People) -> None:
        answer = client.post(LOGIN, {"login": "CHIEF@example.org", "password": PASSWORD})
        assert answer.status_code == 302
        assert answer["Location"] == "/"
        assert signed_in(client)

    def test_a_wrong_password_is_refused_and_the_address_stays_in_the_box(
        self, client: Client, people: People
    ) -> None:
        answer = client.post(LOGIN, {"login": "chief@example.org", "password": "wrong"})
        assert answer.status_code == 200
        assert b'value="chief@example.org"' in answer.content
        assert b'class="errorlist nonfield"' in answer.content
        assert not signed_in(client)

    def test_after_five_wrong_passwords_the_right_one_is_refused_too(
        self, client: Client, people: People
    ) -> None:
        for _ in range(5):
            client.post(LOGIN, {"login": "chief@example.org", "password": "wrong"})
        sixth = client.post(LOGIN, {"login": "chief@example.org", "password": PASSWORD})
        assert not signed_in(client)
        assert b"Too many failed" in sixth.content
        # It is that address which is shut, not everybody's.
        client.post(LOGIN, {"login": "crew@example.org", "password": PASSWORD})
        assert signed_in(client)

    def test_no_more_than_thirty_tries_a_minute_from_one_place(
        self, client: Client, people: People
    ) -> None:
        statuses = [
            client.post(LOGIN, {"login": f"nobody{i}@example.org", "password": "x"}).status_code
            for i in range(31)
        ]
        assert statuses[:30] == [200] * 30
        assert statuses[30] == 429

    @pytest.mark.parametrize(
        "target",
        [
            "https://evil.example/",
            "//evil.example/x",
            "/\\evil.example",
            "javascript:alert(1)",
            "https:evil.example",
        ],
    )
    def test_leads_nowhere_outside(self, client: Client, people: People, target: str) -> None:
        given = {"login": "chief@example.org", "password": PASSWORD, "next": target}
        answer = client.post(f"{LOGIN}?next={quote(target)}", given)
        assert signed_in(client)
        assert answer["Location"] == "/"

    def test_leads_back_to_the_page_that_asked(self, client: Client, people: People) -> None:
        wanted = reverse("team", args=[people.team.pk])
        asked = client.get(wanted)
        assert asked["Location"] == f"{LOGIN}?next={wanted}"
        given = {"login": "chief@example.org", "password": PASSWORD, "next": wanted}
        assert client.post(asked["Location"], given)["Location"] == wanted

    def test_an_account_that_was_closed_stays_out(self, client: Client, people: People) -> None:
        close_account(people.chief)
        client.post(LOGIN, {"login": "chief@example.org", "password": PASSWORD})
        assert client.get("/").status_code == 302

    def test_signing_out_ends_it(self, client: Client, people: People) -> None:
        client.force_login(people.chief)
        assert client.get("/accounts/logout/").status_code == 200
        assert signed_in(client)  # only the button signs out
        client.post("/accounts/logout/")
        assert not signed_in(client)


class TestSigningUp:
    def test_is_closed_without_an_invitation(self, client: Client, db: None) -> None:
        assert b"By invitation" in client.get(SIGNUP).content
        sign_up(client, "wilma@example.org")
        assert account_of("wilma@example.org") is None

    def test_from_the_link_to_the_team(self, client: Client, people: People) -> None:
        _, secret = invitation_to_team(people)
        link = reverse("join", args=[secret])
        shown = client.get(link)
        assert shown.status_code == 200
        assert b"Wrens" in shown.content
        assert f"{SIGNUP}?next={link}" in shown.content.decode()
        assert sign_up(client, "Wilma@Example.org", link) == 302
        wilma = account_of("wilma@example.org")
        assert wilma is not None
        assert wilma.name == "Wilma Fern"
        asked = client.get(link)
        assert b"Join" in asked.content
        joined = client.post(reverse("join-accept", args=[secret]))
        assert joined["Location"] == reverse("team", args=[people.team.pk])
        with viewing_as(wilma.pk):
            assert TeamMember.objects.get(user=wilma).role == "crew"

    def test_leads_back_to_the_invitation(self, client: Client, people: People) -> None:
        _, secret = invitation_to_team(people)
        link = reverse("join", args=[secret])
        client.get(link)
        given = {"email": "w@example.org", "name": "W", "next": link}
        passwords = {"password1": "lantern-paddock-4", "password2": "lantern-paddock-4"}
        assert client.post(SIGNUP, {**given, **passwords})["Location"] == link

    def test_closes_when_the_invitation_is_withdrawn_meanwhile(
        self, client: Client, people: People
    ) -> None:
        invitation, secret = invitation_to_team(people)
        client.get(reverse("join", args=[secret]))
        assert b"Make the account" in client.get(SIGNUP).content
        with viewing_as(people.chief.pk):
            withdraw_invitation(by=people.chief, invitation=invitation)
        sign_up(client, "late@example.org")
        assert account_of("late@example.org") is None

    def test_a_made_up_link_opens_no_account(self, client: Client, people: People) -> None:
        assert client.get(reverse("join", args=["made-up"])).status_code == 410
        assert b"By invitation" in client.get(SIGNUP).content

    def test_an_address_that_has_an_account_makes_no_second_one(
        self, client: Client, people: People
    ) -> None:
        _, secret = invitation_to_team(people)
        client.get(reverse("join", args=[secret]))
        sign_up(client, "CREW@example.org")
        with signing_in(address="crew@example.org"):
            assert User.objects.filter(email__iexact="crew@example.org").count() == 1
        assert not signed_in(client)

    def test_a_weak_password_is_refused(self, client: Client, people: People) -> None:
        _, secret = invitation_to_team(people)
        client.get(reverse("join", args=[secret]))
        weak = {"password1": "password12", "password2": "password12"}
        answer = client.post(SIGNUP, {"email": "w@example.org", "name": "W", **weak})
        assert b"too common" in answer.content
        assert account_of("w@example.org") is None


class TestForgottenPassword:
    def test_a_link_by_mail_sets_a_new_one(
        self, client: Client, people: People, mail_is_on: None
    ) -> None:
        with signing_in(address="chief@example.org"), viewing_as(people.chief.pk):
            EmailAddress.objects.create(
                user=people.chief, email="chief@example.org", verified=True, primary=True
            )
        client.post("/accounts/password/reset/", {"email": "chief@example.org"})
        [letter] = mail.outbox
        assert letter.to == ["chief@example.org"]
        found = re.search(r"https?://[^/]+(/accounts/password/reset/key/\S+)", str(letter.body))
        assert found
        page = client.get(found.group(1), follow=True)
        new = {"password1": "another-lantern-5", "password2": "another-lantern-5"}
        client.post(page.request["PATH_INFO"], new)
        client.post(LOGIN, {"login": "chief@example.org", "password": "another-lantern-5"})
        assert signed_in(client)

    def test_says_the_same_of_an_address_without_account(
        self, client: Client, people: People, mail_is_on: None
    ) -> None:
        known = client.post("/accounts/password/reset/", {"email": "chief@example.org"})
        unknown = client.post("/accounts/password/reset/", {"email": "no@example.org"})
        assert (known.status_code, known["Location"]) == (
            unknown.status_code,
            unknown["Location"],
        )


@pytest.mark.parametrize(
    "path",
    [
        "/accounts/email/",
        "/accounts/password/change/",
        "/accounts/2fa/",
        "/accounts/2fa/totp/activate/",
        "/accounts/2fa/webauthn/add/",
        "/accounts/reauthenticate/",
    ],
)
def test_account_pages_are_for_who_is_signed_in(client: Client, people: People, path: str) -> None:
    assert client.get(path)["Location"].startswith(LOGIN)
    client.force_login(people.chief)
    answer = client.get(path, follow=True)
    assert answer.status_code == 200


@pytest.mark.parametrize("path", [LOGIN, SIGNUP, "/accounts/password/reset/"])
def test_pages_hold_no_inline_script_or_style(client: Client, people: People, path: str) -> None:
    page = client.get(path).content.decode()
    assert "unsafe-inline" not in client.get(path)["Content-Security-Policy"]
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=", page)
    for attributes in re.findall(r"<script([^>]*)>", page):
        assert "src=" in attributes or 'type="application/json"' in attributes


def test_a_person_without_a_name_is_called_by_their_address(db: None) -> None:
    nameless = User.objects.create_user("n@example.org", "correct horse 9")
    assert str(nameless) == "n@example.org"
    # To others they are somebody: an address is its owner's alone.
    assert str(User.objects.get(pk=nameless.pk)) == "Somebody"
    assert str(person("ann")) == "Ann"
