"""Who may do what, as one table: the check that raises and the bool that asks are the same rule."""

from collections.abc import Callable

import pytest

from clubsetup.access.errors import NotAllowed, is_allowed
from clubsetup.access.viewer import viewing_as
from teams import permissions as rules
from teams.actions.invitations import invite
from teams.actions.teams import link_coach, make_team
from teams.models import Club, ClubRole, Team, TeamRole
from tests.people import People, join
from tests.teams.conftest import EVERYBODY, fresh

CHECKS: dict[str, tuple[Callable[..., None], Callable[[People], tuple[object, ...]]]] = {
    "steward": (rules.check_can_steward, lambda p: (p.club,)),
    "officiate": (rules.check_can_officiate, lambda p: (p.club,)),
    "invite to the club": (rules.check_can_invite, lambda p: (p.club, None)),
    "invite to a team with a chief": (rules.check_can_invite, lambda p: (p.club, p.team)),
    "lead": (rules.check_can_lead, lambda p: (p.team,)),
    "crew": (rules.check_can_crew, lambda p: (p.team,)),
    "write sheets": (rules.check_can_write_sheets, lambda p: (p.team,)),
    "comment": (rules.check_can_comment, lambda p: (p.team,)),
    "see weights": (rules.check_can_see_weights, lambda p: (p.team,)),
}
ALLOWED = {
    "steward": {"steward"},
    "officiate": {"official"},
    "invite to the club": {"steward"},
    "invite to a team with a chief": {"chief"},
    "lead": {"chief"},
    "crew": {"chief", "crew"},
    "write sheets": {"chief", "crew"},
    "comment": {"chief", "crew", "coach"},
    "see weights": {"chief", "crew", "coach"},
}


@pytest.mark.parametrize("check", CHECKS)
def test_the_table(people: People, check: str) -> None:
    rule, arguments = CHECKS[check]
    found = set()
    for name in EVERYBODY:
        user = fresh(getattr(people, name))
        with viewing_as(user.pk):
            allowed = is_allowed(rule, user, *arguments(people))
            if allowed:
                found.add(name)
                rule(user, *arguments(people))
            else:
                with pytest.raises(NotAllowed) as refused:
                    rule(user, *arguments(people))
                assert str(refused.value).endswith(".")
    assert found == ALLOWED[check]


def who_may_write_sheets(people: People) -> set[str]:
    found = set()
    for name in EVERYBODY:
        user = fresh(getattr(people, name))
        with viewing_as(user.pk):
            if is_allowed(rules.check_can_write_sheets, user, people.team):
                found.add(name)
    return found


def test_a_coach_writes_sheets_only_if_the_team_lets_them(people: People) -> None:
    chief = fresh(people.chief)
    with viewing_as(chief.pk):
        link_coach(by=chief, team=people.team, coach=people.coach, may_write=True)
    assert who_may_write_sheets(people) == {"chief", "crew", "coach"}
    with viewing_as(chief.pk):
        link_coach(by=chief, team=people.team, coach=people.coach, may_see_codes=True)
    assert who_may_write_sheets(people) == {"chief", "crew"}


def test_a_link_counts_only_while_its_coach_is_a_coach_of_the_club(people: People) -> None:
    from teams.actions.clubs import remove_club_member  # noqa: PLC0415
    from teams.models import ClubMember  # noqa: PLC0415

    steward = fresh(people.steward)
    with viewing_as(steward.pk):
        member = ClubMember.objects.get(user=people.coach, role=ClubRole.COACH)
        remove_club_member(by=steward, member=member)
    coach = fresh(people.coach)
    with viewing_as(coach.pk):
        assert not is_allowed(rules.check_can_comment, coach, people.team)
        assert not Team.objects.filter(pk=people.team.pk).exists()
        assert not Club.objects.exists()


def test_a_steward_invites_the_first_chief_and_nobody_after(people: People) -> None:
    steward = fresh(people.steward)
    with viewing_as(steward.pk):
        team = make_team(by=steward, club=people.club, name="Larks")
        rules.check_can_invite(steward, people.club, team)
    join(steward, people.stranger, people.club, TeamRole.CHIEF, team)
    with viewing_as(steward.pk), pytest.raises(NotAllowed, match="has a chief"):
        rules.check_can_invite(steward, people.club, team)


def test_withdrawing_is_for_the_chief_and_the_steward(people: People) -> None:
    chief = fresh(people.chief)
    with viewing_as(chief.pk):
        invitation, _ = invite(by=chief, club=people.club, team=people.team, role="guest")
    found = set()
    for name in EVERYBODY:
        user = fresh(getattr(people, name))
        with viewing_as(user.pk):
            if is_allowed(rules.check_can_withdraw, user, invitation):
                found.add(name)
    assert found == {"chief", "steward"}
