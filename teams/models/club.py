from zoneinfo import ZoneInfo

from django.db import models

from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import RowSecurity, any_of, in_clubs, viewer_is
from clubsetup.quantities.units import Units
from clubsetup.site.service_clock import check_zone, service_zone_name

# Minutes: shorter than a weighing is a nuisance, longer than a day is none.
LEAST_IDLE, MOST_IDLE = 5, 24 * 60


class Club(Row):
    """A club or race school: keeps baselines, tracks, classes and events."""

    name = models.CharField(max_length=80)
    short_name = models.SlugField(max_length=20, unique=True)
    founder = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    preferred_units = models.JSONField(default=dict, blank=True)
    # By its IANA name: what the wall clock at the club shows.
    time_zone = models.CharField(max_length=64, default=service_zone_name, validators=[check_zone])

    # An official's device that nobody has used for so long is signed out; none: it never is.
    official_idle_minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    # While it is on, a steward or official without a second factor is none: access.withheld_clubs.
    asks_second_factor = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(official_idle_minutes__isnull=True)
                | models.Q(official_idle_minutes__range=(LEAST_IDLE, MOST_IDLE)),
                name="club_idle_minutes_sensible",
            ),
            RowSecurity(
                name="club",
                read=any_of(
                    in_clubs("member", "id"), in_clubs("invited", "id"), viewer_is("founder_id")
                ),
                add=viewer_is("founder_id"),
                change=in_clubs("steward", "id"),
                change_columns=[
                    *("preferred_units", "time_zone", "official_idle_minutes"),
                    "asks_second_factor",
                ],
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def units(self) -> Units:
        """The units the club types without saying so."""
        return Units.imperial().merged(self.preferred_units)

    def zone(self) -> ZoneInfo:
        """The club's wall clock."""
        return ZoneInfo(self.time_zone)


class ClubRole(models.TextChoices):
    """What a person is to a club."""

    STEWARD = "steward", "Steward"
    OFFICIAL = "official", "Official"
    COACH = "coach", "Coach"


class ClubMember(Row):
    """A person's role in a club; a person may hold several."""

    club = models.ForeignKey(Club, on_delete=models.CASCADE, related_name="members")
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="club_roles")
    role = models.CharField(max_length=10, choices=ClubRole.choices)

    objects = RowQuerySet["ClubMember"].as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["club", "user", "role"], name="club_member_once"),
            models.CheckConstraint(
                condition=models.Q(role__in=ClubRole.values), name="club_member_role_known"
            ),
            RowSecurity(
                name="club_member",
                read=any_of(in_clubs("member"), viewer_is("user_id")),
                add=any_of(
                    in_clubs("steward"),
                    in_clubs("founded"),
                    # Somebody holding an invitation may write exactly what it grants.
                    "(user_id = (SELECT access.viewer()) AND (club_id, role) IN "
                    "(SELECT * FROM access.club_invitations()))",
                ),
                remove=any_of(in_clubs("steward"), viewer_is("user_id")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user}: {self.get_role_display()}"
