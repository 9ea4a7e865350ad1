"""Invitations: one link, one person, one role, for a while."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import ProgrammingError, connections
from django.db.transaction import atomic
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from teams.actions.invitations import accept_invitation, invite, withdraw_invitation
from teams.actions.teams import make_team
from teams.models import Club, ClubMember, Invitation, Team, TeamMember
from teams.queries.invitations import show_invitation
from tests.people import People, join
from tests.teams.conftest import EVERYBODY, fresh

SignedIn = Callable[[str], Client]


def to_team(people: People, role: str = "crew") -> tuple[Invitation, str]:
    chief = fresh(people.chief)
    with viewing_as(chief.pk):
        return invite(by=chief, club=people.club, team=people.team, role=role)


def to_club(people: People, role: str = "official") -> tuple[Invitation, str]:
    steward = fresh(people.steward)
    with viewing_as(steward.pk):
        return invite(by=steward, club=people.club, role=role)


class TestMaking:
    @pytest.mark.parametrize("name", [n for n in EVERYBODY if n != "steward"])
    def test_only_stewards_invite_to_a_club(self, people: People, name: str) -> None:
        who = fresh(getattr(people, name))
        with viewing_as(who.pk):
            with pytest.raises(NotAllowed):
                invite(by=who, club=people.club, role="coach")
            assert not Invitation.objects.filter(invited_by=who, role="coach").exists()

    @pytest.mark.parametrize("name", [n for n in EVERYBODY if n != "chief"])
    def test_only_chiefs_invite_to_a_team_that_has_one(self, people: People, name: str) -> None:
        who = fresh(getattr(people, name))
        with viewing_as(who.pk), pytest.raises(NotAllowed):
            invite(by=who, club=people.club, team=people.team, role="guest")

    @pytest.mark.parametrize("role", ["", "king", "steward"])
    def test_a_role_of_the_club_is_none_of_the_team(self, people: People, role: str) -> None:
        with viewing_as(people.chief.pk), pytest.raises(Invalid) as refused:
            invite(by=fresh(people.chief), club=people.club, team=people.team, role=role)
        assert refused.value.field == "role"

    def test_the_secret_is_kept_nowhere(self, people: People) -> None:
        invitation, secret = to_team(people)
        assert len(secret) >= 43  # 256 random bits
        with viewing_as(people.chief.pk):
            kept = Invitation.objects.get(pk=invitation.pk)
            trail = str(list(TrailLine.objects.values_list("detail", flat=True)))
        assert secret not in str(vars(kept))
        assert secret not in trail


class TestTakingUp:
    def test_makes_the_member_and_uses_the_link_up(self, people: People) -> None:
        invitation, secret = to_team(people)
        stranger = fresh(people.stranger)
        with viewing_as(stranger.pk):
            assert not Team.objects.exists()
            accept_invitation(by=stranger, secret=secret)
            assert TeamMember.objects.get(user=stranger).role == "crew"
            assert list(Team.objects.filter(pk=people.team.pk)) == [people.team]
        with viewing_as(people.chief.pk):
            kept = Invitation.objects.get(pk=invitation.pk)
            assert kept.accepted_by_id == stranger.pk
        other = fresh(people.other_steward)
        with viewing_as(other.pk), pytest.raises(WrongState, match="used"):
            accept_invitation(by=other, secret=secret)

    def test_a_withdrawn_one_opens_nothing(self, people: People) -> None:
        invitation, secret = to_team(people)
        chief = fresh(people.chief)
        with viewing_as(chief.pk):
            withdraw_invitation(by=chief, invitation=invitation)
            with pytest.raises(WrongState, match="withdrawn before"):
                withdraw_invitation(by=chief, invitation=invitation)
        self.refused(people, secret)

    def test_one_that_is_too_old_opens_nothing(self, people: People) -> None:
        invitation, secret = to_team(people)
        # Nobody may change how long it holds, so the test lets time pass on another road.
        with pytest.raises(ProgrammingError, match="permission"), viewing_as(people.chief.pk):
            Invitation.objects.filter(pk=invitation.pk).update(expires_at=timezone.now())
        self.refused(people, self.old_secret(people))
        assert secret

    def old_secret(self, people: People) -> str:
        """The secret of an invitation made fifteen days ago."""
        secret = "x" * 43
        with viewing_as(people.chief.pk):
            Invitation.objects.create(
                club=people.club,
                team=people.team,
                role="crew",
                digest=Invitation.digest_of(secret),
                invited_by=people.chief,
                expires_at=timezone.now() - timedelta(days=1),
            )
        return secret

    def refused(self, people: People, secret: str) -> None:
        stranger = fresh(people.stranger)
        with viewing_as(stranger.pk):
            assert show_invitation(secret) is None
            with pytest.raises(WrongState):
                accept_invitation(by=stranger, secret=secret)
        with viewing_as(stranger.pk):
            assert not TeamMember.objects.filter(user=stranger).exists()

    @pytest.mark.parametrize("secret", ["", "made-up", "x" * 43])
    def test_a_made_up_secret_opens_nothing(self, people: People, secret: str) -> None:
        to_team(people)
        self.refused(people, secret)

    def test_who_is_in_already_stays_what_they_are(self, people: People) -> None:
        _, secret = to_team(people, "guest")
        crew = fresh(people.crew)
        with viewing_as(crew.pk), pytest.raises(WrongState, match="already"):
            accept_invitation(by=crew, secret=secret)
        with viewing_as(crew.pk):
            assert TeamMember.objects.get(user=crew).role == "crew"
        # The link is still good for whom it was meant.
        stranger = fresh(people.stranger)
        with viewing_as(stranger.pk):
            accept_invitation(by=stranger, secret=secret)

    def test_a_second_role_in_a_club_is_fine_and_the_same_one_is_not(self, people: People) -> None:
        official = fresh(people.official)
        _, coach = to_club(people, "coach")
        _, again = to_club(people, "official")
        with viewing_as(official.pk):
            accept_invitation(by=official, secret=coach)
            with pytest.raises(WrongState, match="already"):
                accept_invitation(by=official, secret=again)
            assert ClubMember.objects.filter(user=official).count() == 2

    def test_a_stewards_link_dies_when_the_team_has_a_chief(self, people: People) -> None:
        steward = fresh(people.steward)
        with viewing_as(steward.pk):
            team = make_team(by=steward, club=people.club, name="Larks")
            _, spare = invite(by=steward, club=people.club, team=team, role="chief")
        join(steward, people.stranger, people.club, "chief", team)
        with viewing_as(steward.pk):
            assert show_invitation(spare) is None
            with pytest.raises(WrongState):
                accept_invitation(by=steward, secret=spare)

    @pytest.mark.parametrize(("role", "wanted"), [("guest", "chief"), ("crew", "chief")])
    def test_the_database_gives_no_other_role_than_the_one_granted(
        self, people: People, role: str, wanted: str
    ) -> None:
        _, secret = to_team(people, role)
        stranger = fresh(people.stranger)
        with viewing_as(stranger.pk):
            assert show_invitation(secret)
            with pytest.raises(ProgrammingError, match="row-level security"), atomic():
                TeamMember.objects.create(
                    team=people.team, club=people.club, user=stranger, role=wanted
                )

    def test_the_holder_cannot_let_somebody_else_in(self, people: People) -> None:
        _, secret = to_team(people, "guest")
        stranger = fresh(people.stranger)
        with viewing_as(stranger.pk):
            assert show_invitation(secret)
            with pytest.raises(ProgrammingError, match="row-level security"), atomic():
                TeamMember.objects.create(
                    team=people.team, club=people.club, user=people.rival, role="guest"
                )

    def test_what_is_shown_ends_with_the_transaction(self, people: People) -> None:
        _, secret = to_team(people)
        stranger = fresh(people.stranger)
        with viewing_as(stranger.pk):
            show_invitation(secret)
            assert Invitation.objects.count() == 1
        connection = connections["default"]
        with connection.cursor() as cursor:
            # The test itself is one transaction, so what a request's end does is done here.
            cursor.execute("SELECT set_config('clubsetup.invitation', '', true)")
        with viewing_as(stranger.pk):
            assert not Invitation.objects.exists()
            assert not Club.objects.exists()


class TestJoinPage:
    def path(self, secret: str) -> str:
        return reverse("join", args=[secret])

    def test_signed_out_it_says_what_it_is_for_and_leads_on(
        self, client: Client, people: People
    ) -> None:
        _, secret = to_team(people)
        answer = client.get(self.path(secret))
        page = answer.content.decode()
        for words in ("Chief", "Wrens", "Fernbank Oval Club", "crew"):
            assert words in page
        for door in ("/accounts/signup/", "/accounts/login/"):
            assert f'href="{door}?next={self.path(secret)}"' in page
        assert "no-store" in answer["Cache-Control"]

    def test_signed_in_it_asks_first(self, signed_in: SignedIn, people: People) -> None:
        _, secret = to_team(people)
        client = signed_in("stranger")
        assert "Join" in client.get(self.path(secret)).content.decode()
        with viewing_as(people.stranger.pk):
            assert not TeamMember.objects.exists()
        assert client.get(reverse("join-accept", args=[secret])).status_code == 405
        joined = client.post(reverse("join-accept", args=[secret]))
        assert joined["Location"] == reverse("team", args=[people.team.pk])
        assert client.get(joined["Location"]).status_code == 200

    def test_to_a_club_it_leads_to_the_club(self, signed_in: SignedIn, people: People) -> None:
        _, secret = to_club(people)
        joined = signed_in("stranger").post(reverse("join-accept", args=[secret]))
        assert joined["Location"] == reverse("club", args=[people.club.pk])

    def test_taking_it_up_needs_signing_in(self, client: Client, people: People) -> None:
        _, secret = to_team(people)
        answer = client.post(reverse("join-accept", args=[secret]))
        assert answer["Location"].startswith("/accounts/login/?next=")

    def test_a_used_one_says_so(self, signed_in: SignedIn, people: People) -> None:
        _, secret = to_team(people)
        signed_in("stranger").post(reverse("join-accept", args=[secret]))
        for client in (Client(), signed_in("rival")):
            answer = client.get(self.path(secret))
            assert answer.status_code == 410
            assert "Wrens" not in answer.content.decode()
        late = signed_in("rival").post(reverse("join-accept", args=[secret]))
        assert late.status_code == 409
        assert "Ask for a new one" in late.content.decode()

    def test_twice_by_the_same_person_is_refused_kindly(
        self, signed_in: SignedIn, people: People
    ) -> None:
        _, secret = to_team(people)
        answer = signed_in("crew").post(reverse("join-accept", args=[secret]))
        assert answer.status_code == 409
        assert "You are in Wrens already." in answer.content.decode()
