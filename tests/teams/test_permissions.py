"""Who may do what in a club and a team, role by role, and what everybody else is told."""

import pytest

from clubsetup.access.errors import NotAllowed
from teams import permissions
from teams.models import CoachLink, Invitation
from tests.roles import CLUB, COACHES, CREW, EVERYBODY, OTHER_CLUB, RESTS, RIVALS, TEAM, who_may

STEWARDS = "Only a steward of Fernbank may do this."
CHIEFS = "Only a chief of Wrens may do this."


@pytest.fixture(autouse=True)
def _the_wrens_alone_have_a_chief(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(permissions, "team_has_chief", lambda team_id: team_id == TEAM.pk)


def test_a_steward_writes_what_the_club_keeps() -> None:
    check = permissions.check_can_steward
    assert who_may(check, CLUB, refusal=STEWARDS, resting=RESTS) == {"steward"}


def test_an_official_weighs_and_finds() -> None:
    told = "Only an official of Fernbank may do this."
    check = permissions.check_can_officiate
    assert who_may(check, CLUB, refusal=told, resting=RESTS) == {"official"}


def test_a_role_rests_in_the_club_that_asks_for_more_and_in_no_other() -> None:
    told = "Only a steward of Marl Heath may do this."
    found = who_may(permissions.check_can_steward, OTHER_CLUB, refusal=told)
    assert found == {"other steward"}


def test_a_chief_leads() -> None:
    assert who_may(permissions.check_can_lead, TEAM, refusal=CHIEFS) == {"chief"}


def test_a_link_is_ended_by_the_chief_or_by_its_coach() -> None:
    link = CoachLink(team=TEAM, coach=EVERYBODY["coach"])
    found = who_may(permissions.check_can_unlink, link, refusal=CHIEFS)
    assert found == {"chief", "coach"}


def test_the_crew_write_what_the_team_keeps() -> None:
    told = "Only the crew of Wrens may do this."
    assert who_may(permissions.check_can_crew, TEAM, refusal=told) == CREW


def test_the_crew_write_sheets_and_a_coach_whom_they_let() -> None:
    told = "Only the crew of Wrens, or a coach it lets write, may do this."
    found = who_may(permissions.check_can_write_sheets, TEAM, refusal=told)
    assert found == CREW | {"coach who writes"}


def test_the_crew_and_their_coaches_comment() -> None:
    told = "Only the crew of Wrens or its coach may comment."
    assert who_may(permissions.check_can_comment, TEAM, refusal=told) == CREW | COACHES


def test_the_crew_and_their_coaches_see_weights() -> None:
    told = "Only the crew of Wrens or its coach may see weights."
    assert who_may(permissions.check_can_see_weights, TEAM, refusal=told) == CREW | COACHES


def test_a_steward_invites_to_the_club() -> None:
    check = permissions.check_can_invite
    assert who_may(check, CLUB, None, refusal=STEWARDS, resting=RESTS) == {"steward"}


def test_a_chief_invites_to_a_team_that_has_one() -> None:
    check = permissions.check_can_invite
    for name, user in EVERYBODY.items():
        if name == "chief":
            check(user, CLUB, TEAM)
            continue
        told = {"steward": "Wrens has a chief, who invites its members.", "resting": RESTS}
        with pytest.raises(NotAllowed) as refused:
            check(user, CLUB, TEAM)
        assert str(refused.value) == told.get(name, STEWARDS)


def test_a_steward_invites_the_first_chief() -> None:
    check = permissions.check_can_invite
    found = who_may(check, CLUB, RIVALS, refusal=STEWARDS, resting=RESTS)
    assert found == {"steward", "rival"}


def test_who_may_invite_may_withdraw() -> None:
    told = "Only who may invite may withdraw an invitation."
    check = permissions.check_can_withdraw
    to_team, to_club = Invitation(club=CLUB, team=TEAM), Invitation(club=CLUB, team=None)
    assert who_may(check, to_team, refusal=told) == {"steward", "chief"}
    assert who_may(check, to_club, refusal=told) == {"steward"}
