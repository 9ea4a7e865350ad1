from django.db import models

from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    any_of,
    in_clubs,
    in_teams,
    viewer_is,
)
from teams.models.club import Club


class Team(Row):
    """A family or crew, at home in one club. Other members of the club see its name, no more."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="teams")
    name = models.CharField(max_length=80)

    objects = RowQuerySet["Team"].as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["club", "name"], name="team_name_once_a_club"),
            RowSecurity(
                name="team",
                read=any_of(
                    in_clubs("member"), in_teams("reader", "id"), in_teams("invited", "id")
                ),
                add=in_clubs("steward"),
                change=any_of(in_clubs("steward"), in_teams("chief", "id")),
                # A team stays in its club: in another one its chief would read what that keeps.
                change_columns=["name"],
            ),
        ]

    def __str__(self) -> str:
        return self.name


class TeamRole(models.TextChoices):
    """What a person is to a team."""

    CHIEF = "chief", "Chief"
    CREW = "crew", "Crew"
    GUEST = "guest", "Guest"


class TeamMember(Row):
    """A person's one role in a team."""

    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="members")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="team_roles")
    role = models.CharField(max_length=10, choices=TeamRole.choices)

    objects = RowQuerySet["TeamMember"].as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["team", "user"], name="team_member_once"),
            models.CheckConstraint(
                condition=models.Q(role__in=TeamRole.values), name="team_member_role_known"
            ),
            SameParent(
                name="team_member_club", parent="team_id", shared="club_id", to="teams_team"
            ),
            RowSecurity(
                name="team_member",
                read=any_of(in_teams("reader"), in_clubs("steward"), viewer_is("user_id")),
                add=any_of(
                    in_teams("chief"),
                    "(user_id = (SELECT access.viewer()) AND (team_id, role) IN "
                    "(SELECT * FROM access.team_invitations()))",
                ),
                change=in_teams("chief"),
                change_columns=["role"],
                remove=any_of(in_teams("chief"), viewer_is("user_id")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user}: {self.get_role_display()}"


class CoachLink(Row):
    """A team lets one coach of its club see its cars; it may also let them write, or see codes."""

    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="coach_links")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    coach = models.ForeignKey(User, on_delete=models.CASCADE, related_name="coach_links")
    may_write = models.BooleanField(default=False, help_text="Let the coach take readings too.")
    may_see_codes = models.BooleanField(default=False, help_text="Show the coach your part codes.")

    objects = RowQuerySet["CoachLink"].as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["team", "coach"], name="coach_link_once"),
            SameParent(name="coach_link_club", parent="team_id", shared="club_id", to="teams_team"),
            RowSecurity(
                name="coach_link",
                read=any_of(in_teams("member"), in_clubs("steward"), viewer_is("coach_id")),
                add=in_teams("chief"),
                change=in_teams("chief"),
                change_columns=["may_write", "may_see_codes"],
                remove=any_of(in_teams("chief"), viewer_is("coach_id")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.coach} coaches {self.team}"
