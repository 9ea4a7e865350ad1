"""Codes for a new password, as a way into somebody else's account."""

import logging
import re
from io import StringIO
from typing import Any

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clubsetup.access.ids import new_id
from clubsetup.access.models import ResetCode, TrailLine, User
from clubsetup.access.reset_codes import reach_of
from clubsetup.access.second_factor import has_second_factor
from clubsetup.access.viewer import viewing_as
from teams.actions.teams import remove_team_member, set_team_role
from teams.models import TeamMember
from tests.attacks.accounts import again, is_in, opens, signed_in, token_of, totp_of
from tests.people import People, has_password, join

pytestmark = pytest.mark.django_db
BY_CODE = "/me/code"
NEW = "another-lantern-5"


def made_by(maker: User, who: User) -> tuple[int, str]:
    """What the page answers the maker, and the code it shows."""
    answer = again(signed_in(maker)).post(reverse("person-code", args=[who.pk]))
    found = re.search(r'id="code"[^>]*value="([^"]+)"', answer.content.decode())
    return answer.status_code, found.group(1) if found else ""


def use(code: str, who: User, browser: Client | None = None) -> str:
    """The page that comes of using the code; '' where it was taken."""
    given = {"email": who.email, "code": code, "password": NEW}
    answer = (browser or Client()).post(BY_CODE, given)
    return "" if answer.status_code == 302 else answer.content.decode()


def has_new(who: User) -> bool:
    return has_password(who, NEW)


def reach(maker: User, who: User) -> str:
    with viewing_as(maker.pk):
        return reach_of(who.pk)


class TestWhoMayMakeOne:
    def test_the_whole_rule(self, people: People) -> None:
        who = vars(people)
        found = {
            (maker, name): reach(who[maker], who[name])
            for maker in ("chief", "crew", "guest", "coach", "official", "steward", "rival")
            for name in (
                *("chief", "crew", "guest", "coach", "unlinked_coach", "official", "steward"),
                *("rival", "other_official", "other_steward", "stranger"),
            )
        }
        assert {pair: far for pair, far in found.items() if far} == {
            ("chief", "crew"): "any",
            ("chief", "guest"): "any",
            ("steward", "official"): "any",
            ("steward", "unlinked_coach"): "any",
            # They see cars and children, which a steward never does.
            ("steward", "chief"): "known",
            ("steward", "crew"): "known",
            ("steward", "guest"): "known",
            ("steward", "rival"): "known",
            ("steward", "coach"): "known",
        }

    @pytest.mark.parametrize("role", ["steward", "official", "coach"])
    def test_no_chief_for_a_member_with_a_role_in_the_club(self, people: People, role: str) -> None:
        join(people.steward, people.crew, people.club, role)
        assert reach(people.chief, people.crew) == ""
        assert made_by(people.chief, people.crew) == (403, "")

    def test_no_chief_for_a_member_who_is_or_was_in_another_team(self, people: People) -> None:
        join(people.rival, people.crew, people.club, "guest", people.rival_team)
        assert reach(people.chief, people.crew) == ""
        with viewing_as(people.crew.pk):
            own = TeamMember.objects.get(user=people.crew, team=people.rival_team)
            remove_team_member(by=people.crew, member=own)
        assert reach(people.chief, people.crew) == ""  # prints of then are still theirs

    def test_no_steward_for_somebody_of_another_club(self, people: People) -> None:
        join(people.other_steward, people.official, people.other_club, "official")
        assert reach(people.steward, people.official) == ""
        assert reach(people.other_steward, people.official) == ""

    def test_nobody_for_themselves_and_no_stranger_at_all(self, people: People) -> None:
        assert reach(people.chief, people.chief) == ""
        assert made_by(people.stranger, people.crew) == (404, "")
        assert made_by(people.rival, people.crew) == (404, "")

    def test_none_where_mail_is_set_up(self, people: People, settings: Any) -> None:
        browser = again(signed_in(people.chief))
        settings.MAIL_IS_SET_UP = True
        answer = browser.post(reverse("person-code", args=[people.crew.pk]))
        assert answer.status_code == 403
        with viewing_as(people.chief.pk):
            assert not ResetCode.objects.exists()

    def test_none_from_a_browser_left_signed_in(self, people: People) -> None:
        browser = signed_in(people.chief)
        answer = browser.post(reverse("person-code", args=[people.crew.pk]))
        assert answer["Location"].startswith("/accounts/reauthenticate/")

    def test_the_database_holds_it_against_the_service_itself(self, people: People) -> None:
        """As the restricted role, past every page: no code but by the rule, no row by hand."""
        with viewing_as(people.chief.pk), connection.cursor() as cursor:
            for victim in (people.steward, people.official, people.rival, people.chief):
                cursor.execute("SELECT access.make_reset_code(%s, %s, 'x')", [new_id(), victim.pk])
                assert cursor.fetchone() == (None,)
        for statement in (
            "INSERT INTO access_resetcode SELECT * FROM access_resetcode",
            "UPDATE access_resetcode SET used_at = NULL",
            "DELETE FROM access_resetcode",
            f"SELECT access.reset_reach('{people.steward.pk}', '{people.crew.pk}')",
            f"SELECT * FROM access.places_of('{people.crew.pk}')",
        ):
            with (
                pytest.raises(Exception, match="permission denied"),
                viewing_as(people.chief.pk),
                connection.cursor() as cursor,
            ):
                cursor.execute(statement)


class TestUsingOne:
    def test_sets_the_password_once_and_ends_what_was_open(self, people: People) -> None:
        token, elsewhere = token_of(people.crew), signed_in(people.crew)
        status, code = made_by(people.chief, people.crew)
        assert status == 200
        assert use(code.lower().replace("-", " "), people.crew) == ""
        assert has_new(people.crew)
        assert (opens(token), is_in(elsewhere)) == (False, False)
        assert "opens nothing here" in use(code, people.crew)

    def test_opens_no_other_account(self, people: People) -> None:
        _, code = made_by(people.chief, people.crew)
        for other in (people.guest, people.steward, people.chief):
            assert "opens nothing here" in use(code, other)
        assert use(code, people.crew) == ""

    def test_too_late_is_too_late_and_a_second_one_ends_the_first(self, people: People) -> None:
        _, first = made_by(people.chief, people.crew)
        _, second = made_by(people.chief, people.crew)
        assert "opens nothing here" in use(first, people.crew)
        with viewing_as(people.chief.pk):
            remaining = ResetCode.objects.get().expires_at - timezone.now()
        assert 0 < remaining.total_seconds() <= 1800
        assert use(second, people.crew) == ""

    def test_a_weak_password_does_not_use_it_up(self, people: People) -> None:
        _, code = made_by(people.chief, people.crew)
        given = {"email": people.crew.email, "code": code, "password": "qwertyuiop"}
        page = Client().post(BY_CODE, given).content.decode()
        assert "too common" in page
        assert "qwertyuiop" not in page
        assert use(code, people.crew) == ""

    def test_counts_as_a_wrong_password_does(self, people: People) -> None:
        _, code = made_by(people.chief, people.crew)
        for _ in range(5):
            use("AAAAA-AAAAA-AAAAA", people.crew)
        assert "Too many failed" in use(code, people.crew)
        assert not has_new(people.crew)

    def test_a_stewards_opens_a_familys_account_only_where_they_have_been(
        self, people: People
    ) -> None:
        """A steward who wants to read a child's birth date has no device of the family's."""
        own = signed_in(people.chief)
        _, code = made_by(people.steward, people.chief)
        assert "has signed in before" in use(code, people.chief)
        assert "has signed in before" in use(code, people.chief, signed_in(people.steward))
        assert not has_new(people.chief)
        assert use(code, people.chief, own) == ""
        assert has_new(people.chief)

    def test_opens_nothing_once_its_maker_is_no_chief(self, people: People) -> None:
        _, code = made_by(people.chief, people.crew)
        with viewing_as(people.chief.pk):
            guest = TeamMember.objects.get(user=people.guest)
            set_team_role(by=people.chief, member=guest, role="chief")
            own = TeamMember.objects.get(user=people.chief)
            set_team_role(by=people.chief, member=own, role="guest")
        assert "opens nothing here" in use(code, people.crew)

    def test_opens_nothing_once_its_person_is_more(self, people: People) -> None:
        _, code = made_by(people.chief, people.crew)
        join(people.steward, people.crew, people.club, "official")
        assert "opens nothing here" in use(code, people.crew)

    def test_leaves_the_second_factor(self, people: People) -> None:
        totp_of(people.crew)
        _, code = made_by(people.chief, people.crew)
        assert use(code, people.crew) == ""
        browser = Client()
        browser.post("/accounts/login/", {"login": people.crew.email, "password": NEW})
        assert not is_in(browser)
        with viewing_as(people.crew.pk):
            assert has_second_factor(people.crew)


class TestTheTrail:
    def test_of_the_team_says_who_made_one_for_whom(self, people: People) -> None:
        made_by(people.chief, people.crew)
        made_by(people.steward, people.chief)
        page = signed_in(people.chief).get(reverse("team-trail", args=[people.team.pk]))
        text = page.content.decode()
        assert text.count("made a code for a new password") == 2
        club = signed_in(people.steward).get(reverse("club-trail", args=[people.club.pk]))
        assert club.content.decode().count("made a code for a new password") == 1

    def test_keeps_no_code(self, people: People, caplog: pytest.LogCaptureFixture) -> None:
        caplog.set_level(logging.DEBUG)
        _, code = made_by(people.chief, people.crew)
        with viewing_as(people.chief.pk):
            kept = str(list(TrailLine.objects.values())) + str(list(ResetCode.objects.values()))
        for text in (kept, caplog.text):
            assert code not in text
            assert code.replace("-", "") not in text


@pytest.mark.django_db(databases=["default", "owner"])
class TestTheKeeper:
    """On the command line, which nobody but whoever keeps the service reaches."""

    def run(self, *given: str) -> str:
        said = StringIO()
        call_command("reset_password", *given, stdout=said)
        found = re.search(r"[0-9A-Z]{5}-[0-9A-Z]{5}-[0-9A-Z]{5}", said.getvalue())
        assert found
        return found.group()

    def test_makes_a_code_for_anybody(self) -> None:
        ann = User.objects.using("owner").create(email="ann@example.org", password="!")
        Authenticator.objects.using("owner").create(user_id=ann.pk, type="totp", data={})
        code = self.run("Ann@example.org")
        [made] = ResetCode.objects.using("owner").filter(user_id=ann.pk)
        assert (made.digest, made.made_by_id) == (ResetCode.digest_of(code), None)
        assert Authenticator.objects.using("owner").filter(user_id=ann.pk).exists()
        [line] = TrailLine.objects.using("owner").filter(on_id=ann.pk)
        assert (line.did, code in str(line.detail)) == ("reset_by_keeper", False)

    def test_removes_second_factors_and_confirms_an_address_only_if_told(self) -> None:
        ann = User.objects.using("owner").create(email="ann@example.org", password="!")
        Authenticator.objects.using("owner").create(user_id=ann.pk, type="totp", data={})
        self.run("ann@example.org", "--remove-second-factors", "--confirm-address")
        assert not Authenticator.objects.using("owner").filter(user_id=ann.pk).exists()
        assert EmailAddress.objects.using("owner").get(user_id=ann.pk).verified

    def test_makes_none_for_nobody(self) -> None:
        with pytest.raises(CommandError, match="Nobody signs in as"):
            call_command("reset_password", "nobody@example.org")
