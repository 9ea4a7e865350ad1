"""The people of the tests, each with one part to play. Everything is made by the actions."""

import time
from dataclasses import dataclass

from allauth.account.internal.flows.login import record_authentication
from django.http import HttpRequest
from django.test import Client

from clubsetup.access.models import User
from clubsetup.access.viewer import signing_in, viewing_as
from teams.actions.clubs import found_club
from teams.actions.invitations import accept_invitation, invite
from teams.actions.teams import link_coach, make_team
from teams.models import Club, Team


@dataclass
class People:
    """Fernbank is the club, Marl Heath another; Wrens is the team, Kestrels a rival in the club."""

    club: Club
    other_club: Club
    team: Team
    rival_team: Team
    steward: User
    official: User
    coach: User  # linked to Wrens
    unlinked_coach: User
    chief: User  # of Wrens: the owner
    crew: User  # of Wrens: the team mate
    guest: User  # of Wrens
    rival: User  # chief of Kestrels
    other_official: User  # official of Marl Heath
    other_steward: User
    stranger: User  # signed in, in no club


def person(name: str) -> User:
    """Somebody with an account and no role."""
    return User.objects.create_user(
        f"{name.replace(' ', '.')}@example.org", "correct horse 9", name=name.title()
    )


def account_of(address: str) -> User | None:
    """Who signs in by this address, as the sign-in code finds them; nobody else may ask."""
    with signing_in(address=address):
        return User.objects.filter(email=address.lower()).first()


def has_password(who: User, password: str) -> bool:
    """Whether that password signs them in, as the sign-in code finds it."""
    with signing_in(person=who.pk):
        return User.objects.get(pk=who.pk).check_password(password)


def close_account(who: User) -> None:
    """Nobody signs in by it any more."""
    with signing_in(person=who.pk):
        assert User.objects.filter(pk=who.pk).update(is_active=False) == 1


def browser_of(user: User) -> Client:
    """A browser in which that person is signed in and has just shown once more who it is."""
    client = Client()
    show_again(client, user)
    return client


def show_again(client: Client, user: User) -> None:
    """Signs in there, and shows once more who it is."""
    client.force_login(user)
    request = HttpRequest()
    request.session = session = client.session
    # For as long as the test takes.
    record_authentication(request, user, "password", reauthenticated=True)
    session["account_authentication_methods"][-1]["at"] = time.time() + 100_000
    session.save()


def join(by: User, who: User, club: Club, role: str, team: Team | None = None) -> None:
    """`by` invites `who`, who follows the link."""
    with viewing_as(by.pk):
        _, secret = invite(by=by, club=club, team=team, role=role)
    with viewing_as(who.pk):
        accept_invitation(by=who, secret=secret)


def make_people() -> People:
    """Two clubs, two teams, and everybody in house rules' table."""
    names = (
        *("steward", "official", "coach", "unlinked_coach", "chief", "crew", "guest"),
        *("rival", "other_official", "other_steward", "stranger"),
    )
    who = {name: person(name.replace("_", " ")) for name in names}
    with viewing_as(who["steward"].pk):
        club = found_club(by=who["steward"], name="Fernbank Oval Club", short_name="fernbank")
        team = make_team(by=who["steward"], club=club, name="Wrens")
        rival_team = make_team(by=who["steward"], club=club, name="Kestrels")
    with viewing_as(who["other_steward"].pk):
        other_club = found_club(
            by=who["other_steward"], name="Marl Heath Racers", short_name="marl-heath"
        )
    for name, role in (("official", "official"), ("coach", "coach"), ("unlinked_coach", "coach")):
        join(who["steward"], who[name], club, role)
    join(who["other_steward"], who["other_official"], other_club, "official")
    join(who["steward"], who["chief"], club, "chief", team)
    join(who["steward"], who["rival"], club, "chief", rival_team)
    for name in ("crew", "guest"):
        join(who["chief"], who[name], club, name, team)
    with viewing_as(who["chief"].pk):
        link_coach(by=who["chief"], team=team, coach=who["coach"])
    return People(club=club, other_club=other_club, team=team, rival_team=rival_team, **who)
