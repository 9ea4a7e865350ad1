"""What a person is to their clubs and teams, in one read each a request."""

from dataclasses import dataclass
from uuid import UUID

from django.db import connection

from clubsetup.access.models import User
from teams.models import ClubRole, TeamRole

# Asked by nearly every page and every figure typed, so written out: one question, not three.
ROLES = """
SELECT held.*, c.time_zone FROM (
    SELECT 'club' AS what, club_id, NULL::uuid AS team_id, role, false, false,
        role <> 'coach' AND club_id = ANY ((SELECT access.withheld_clubs())::uuid[])
    FROM teams_clubmember WHERE user_id = %(user)s
    UNION ALL
    SELECT 'team', club_id, team_id, role, false, false, false
    FROM teams_teammember WHERE user_id = %(user)s
    UNION ALL
    SELECT 'link', club_id, team_id, '', may_write, may_see_codes, false
    FROM teams_coachlink WHERE coach_id = %(user)s
) AS held LEFT JOIN teams_club c ON c.id = held.club_id
"""


@dataclass(frozen=True, slots=True)
class CoachRights:
    """What a team lets its coach do beside reading."""

    may_write: bool
    may_see_codes: bool


@dataclass(frozen=True)
class Roles:
    """A person's roles, by id of club and team."""

    clubs: dict[UUID, frozenset[str]]
    teams: dict[UUID, str]
    coached: dict[UUID, CoachRights]
    zones: frozenset[str]  # of the clubs and of the teams' clubs
    # Clubs that ask for a second factor, in which roles rest for want of one.
    resting: frozenset[UUID] = frozenset()
    team_clubs: frozenset[UUID] = frozenset()  # at which the person's own teams are at home

    @property
    def readable_teams(self) -> frozenset[UUID]:
        """Teams whose sheets they may read: their own, and those that let them in as a coach."""
        return frozenset((*self.teams, *self.coached))

    @property
    def member_clubs(self) -> frozenset[UUID]:
        """Clubs they are in, themselves or with a team."""
        return self.team_clubs.union(self.clubs)

    @property
    def chief_teams(self) -> frozenset[UUID]:
        return frozenset(filter(self.is_chief, self.teams))

    @property
    def steward_clubs(self) -> frozenset[UUID]:
        return frozenset(filter(self.is_steward, self.clubs))

    @property
    def official_clubs(self) -> frozenset[UUID]:
        return frozenset(filter(self.is_official, self.clubs))

    @property
    def desk_clubs(self) -> frozenset[UUID]:
        """Clubs at whose desk they may stand: as official or steward."""
        return self.steward_clubs.union(self.official_clubs)

    def is_steward(self, club_id: UUID) -> bool:
        return ClubRole.STEWARD in self.clubs.get(club_id, ())

    def is_official(self, club_id: UUID) -> bool:
        return ClubRole.OFFICIAL in self.clubs.get(club_id, ())

    def is_coach(self, club_id: UUID) -> bool:
        """Coach of that club, of whichever teams."""
        return ClubRole.COACH in self.clubs.get(club_id, ())

    def is_chief(self, team_id: UUID | None) -> bool:
        return team_id is not None and self.teams.get(team_id) == TeamRole.CHIEF

    def is_crew(self, team_id: UUID) -> bool:
        """Chief or crew of that team."""
        return self.teams.get(team_id) in (TeamRole.CHIEF, TeamRole.CREW)

    def is_member(self, team_id: UUID) -> bool:
        """Chief, crew or guest of that team."""
        return team_id in self.teams

    def may_write_sheets(self, team_id: UUID) -> bool:
        """Crew, or a linked coach whom the team lets write."""
        link = self.coached.get(team_id)
        return self.is_crew(team_id) or bool(link and link.may_write)

    def may_comment(self, team_id: UUID) -> bool:
        """Crew or a linked coach."""
        return self.is_crew(team_id) or team_id in self.coached

    def may_see_codes(self, team_id: UUID) -> bool:
        """Members of the team, or a linked coach whom the team lets see codes."""
        link = self.coached.get(team_id)
        return self.is_member(team_id) or bool(link and link.may_see_codes)


def roles_of(user: User) -> Roles:
    """The viewer's own roles; kept on the user object for the rest of the request."""
    known: Roles | None = getattr(user, "_roles", None)
    if known is not None:
        return known
    with connection.cursor() as cursor:
        cursor.execute(ROLES, {"user": user.pk})
        rows = cursor.fetchall()
    clubs: dict[UUID, set[str]] = {}
    for what, club_id, _, role, *_more, rests, _zone in rows:
        if what == "club":
            clubs.setdefault(club_id, set()).update(() if rests else (role,))
    roles = Roles(
        clubs={club_id: frozenset(roles_there) for club_id, roles_there in clubs.items()},
        teams={team_id: role for what, _, team_id, role, *_more in rows if what == "team"},
        coached={
            team_id: CoachRights(may_write, may_see_codes)
            for what, club_id, team_id, _, may_write, may_see_codes, *_more in rows
            if what == "link" and ClubRole.COACH in clubs.get(club_id, ())
        },
        zones=frozenset(zone for what, *_more, zone in rows if zone and what != "link"),
        resting=frozenset(club_id for _, club_id, *_more, rests, _zone in rows if rests),
        team_clubs=frozenset(club_id for what, club_id, *_more in rows if what == "team"),
    )
    user._roles = roles  # type: ignore[attr-defined]
    return roles


def forget_roles(user: User) -> None:
    """After an action that changed this person's roles."""
    if hasattr(user, "_roles"):
        del user._roles


def team_has_chief(team_id: UUID) -> bool:
    """Whether anybody leads the team; a steward, who does not see its members in full, may ask."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.has_chief(%s)", [team_id])
        row = cursor.fetchone()
    return bool(row and row[0])
