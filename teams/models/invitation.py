from django.db import models
from django.db.models import Q

from clubsetup.access.digests import digest
from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    all_of,
    any_of,
    in_clubs,
    in_teams,
    viewer_is,
)
from teams.models.club import Club, ClubRole
from teams.models.team import Team, TeamRole


class Invitation(Row):
    """A link that lets whoever holds it join a club or a team in one role, once, for a while."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="invitations")
    team = models.ForeignKey(
        Team, on_delete=models.CASCADE, null=True, blank=True, related_name="invitations"
    )
    role = models.CharField(max_length=10, choices=[*ClubRole.choices, *TeamRole.choices])
    note = models.CharField(max_length=80, blank=True, help_text="For you: who is it for?")
    digest = models.CharField(max_length=64, unique=True)
    invited_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = RowQuerySet["Invitation"].as_manager()

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(team__isnull=True, role__in=ClubRole.values)
                | Q(team__isnull=False, role__in=TeamRole.values),
                name="invitation_role_fits",
            ),
            models.CheckConstraint(
                condition=Q(accepted_at__isnull=True, accepted_by__isnull=True)
                | Q(accepted_at__isnull=False, accepted_by__isnull=False),
                name="invitation_accepted_at_with_by",
            ),
            SameParent(name="invitation_club", parent="team_id", shared="club_id", to="teams_team"),
            RowSecurity(
                name="invitation",
                # The digest of the link somebody followed is set for their transaction only.
                read=any_of(
                    in_clubs("steward"),
                    in_teams("chief"),
                    "digest = (SELECT access.shown_invitation())",
                ),
                # A steward may invite a team's first chief; after that the chief invites.
                add=all_of(
                    viewer_is("invited_by_id"),
                    any_of(
                        all_of("team_id IS NOT NULL", in_teams("chief")),
                        all_of(
                            in_clubs("steward"),
                            "(team_id IS NULL OR NOT access.has_chief(team_id))",
                        ),
                    ),
                ),
                # An open one alone: what was taken up or withdrawn stays so.
                change=all_of(
                    "accepted_at IS NULL",
                    "withdrawn_at IS NULL",
                    any_of(
                        in_clubs("steward"),
                        in_teams("chief"),
                        "digest = (SELECT access.shown_invitation())",
                    ),
                ),
                # Whoever holds the link takes it up for themself; whoever may invite withdraws.
                change_to=any_of(
                    all_of(
                        "digest = (SELECT access.shown_invitation())",
                        viewer_is("accepted_by_id"),
                        "withdrawn_at IS NULL",
                    ),
                    all_of(any_of(in_clubs("steward"), in_teams("chief")), "accepted_at IS NULL"),
                ),
                change_columns=["accepted_at", "accepted_by_id", "withdrawn_at"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.role} of {self.team or self.club}"

    @staticmethod
    def digest_of(secret: str) -> str:
        """What is kept of the link's secret."""
        return digest(secret)
