"""Clubs, teams and drivers as JSON."""

from typing import Any

from django.db.models import Model
from rest_framework import serializers

from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.access.models import User
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from teams.models import (
    Club,
    ClubMember,
    ClubRole,
    CoachLink,
    Driver,
    DriverBirth,
    DriverWeight,
    Invitation,
    RaceClass,
    Surface,
    Team,
    TeamMember,
    TeamRole,
    Track,
)

INVITED_AS = [*ClubRole.choices, *TeamRole.choices]


def row(model: type[Model]) -> Any:
    """A row the person asking can see, by its id; one they cannot see does not exist."""
    return serializers.PrimaryKeyRelatedField(queryset=model._default_manager.all())


class PersonSerializer(serializers.ModelSerializer[User]):
    """A person as others see them."""

    name = serializers.CharField(source="__str__", read_only=True)

    class Meta:
        model = User
        fields = ("id", "name")


class ClubSerializer(serializers.ModelSerializer[Club]):
    """A club."""

    my_roles = serializers.SerializerMethodField()
    preferred_units = serializers.DictField(child=serializers.CharField(allow_blank=True))
    time_zone = serializers.CharField(
        max_length=64, help_text="IANA name of the club's wall clock. The API itself tells UTC."
    )

    class Meta:
        model = Club
        fields = (
            "id",
            "name",
            "short_name",
            "preferred_units",
            "time_zone",
            "official_idle_minutes",
            "asks_second_factor",
            "my_roles",
        )
        read_only_fields = ("id", "name", "short_name")

    def get_my_roles(self, club: Club) -> list[str]:
        """What the person asking is to the club."""
        return sorted(self.context["roles"].clubs.get(club.pk, ()))


class ClubMemberSerializer(serializers.ModelSerializer[ClubMember]):
    """A role of a person in a club."""

    user = PersonSerializer(read_only=True)

    class Meta:
        model = ClubMember
        fields = ("id", "club", "user", "role", "created_at")


class TeamSerializer(serializers.ModelSerializer[Team]):
    """A team."""

    my_role = serializers.SerializerMethodField()

    class Meta:
        model = Team
        fields = ("id", "club", "name", "my_role")

    def get_my_role(self, team: Team) -> str:
        """Chief, crew, guest, coach (linked), or nothing."""
        roles = self.context["roles"]
        return roles.teams.get(team.pk) or ("coach" if team.pk in roles.coached else "")


class TeamCreateSerializer(CreateOnceSerializer):
    """A new team."""

    club = row(Club)
    name = serializers.CharField(max_length=80)


class TeamMemberSerializer(serializers.ModelSerializer[TeamMember]):
    """A person's role in a team."""

    user = PersonSerializer(read_only=True)
    role = serializers.ChoiceField(TeamRole.choices)

    class Meta:
        model = TeamMember
        fields = ("id", "team", "user", "role", "created_at")
        read_only_fields = ("id", "team", "created_at")


class CoachLinkSerializer(serializers.ModelSerializer[CoachLink]):
    """A coach whom a team lets in."""

    coach = PersonSerializer(read_only=True)

    class Meta:
        model = CoachLink
        fields = ("id", "team", "coach", "may_write", "may_see_codes", "created_at")
        read_only_fields = ("id", "team", "created_at")


class CoachLinkCreateSerializer(CreateOnceSerializer):
    """A new link."""

    team = row(Team)
    coach = row(User)
    may_write = serializers.BooleanField(default=False)
    may_see_codes = serializers.BooleanField(default=False)


class InvitationSerializer(serializers.ModelSerializer[Invitation]):
    """An invitation without its link."""

    class Meta:
        model = Invitation
        fields = (
            "id",
            "club",
            "team",
            "role",
            "note",
            "created_at",
            "expires_at",
            "accepted_at",
            "withdrawn_at",
        )


class InvitationMadeSerializer(InvitationSerializer):
    """An invitation just made."""

    link = serializers.CharField(
        required=False, help_text="Shown in the answer that made it, and never again."
    )

    class Meta:
        model = Invitation
        fields = (*InvitationSerializer.Meta.fields, "link")


class InvitationCreateSerializer(CreateOnceSerializer):
    """A new invitation: to the club, or to the team where one is named."""

    club = row(Club)
    team = serializers.PrimaryKeyRelatedField(
        queryset=Team.objects.all(), required=False, allow_null=True, default=None
    )
    role = serializers.ChoiceField(INVITED_AS)
    note = serializers.CharField(max_length=80, required=False, allow_blank=True, default="")


class AcceptSerializer(serializers.Serializer[Any]):
    """The secret at the end of an invitation's link."""

    secret = serializers.CharField(max_length=100)


class DriverSerializer(serializers.ModelSerializer[Driver]):
    """A driver: a name, and nothing else."""

    class Meta:
        model = Driver
        fields = ("id", "team", "display_name")
        read_only_fields = ("id", "team")


class DriverCreateSerializer(CreateOnceSerializer):
    """A new driver."""

    team = row(Team)
    display_name = serializers.CharField(max_length=40)


class BirthDateSerializer(serializers.ModelSerializer[DriverBirth]):
    """A driver's birth date, for the crew."""

    class Meta:
        model = DriverBirth
        fields = ("birth_date",)


class DriverWeightSerializer(serializers.ModelSerializer[DriverWeight]):
    """One line of a weight log."""

    mass = TypedQuantity(kind=Kind.MASS, typed_from="mass_typed", read_only=True)

    class Meta:
        model = DriverWeight
        fields = ("id", "driver", "weighed_on", "mass", "created_at")


class DriverWeightCreateSerializer(CreateOnceSerializer):
    """A new line of a weight log."""

    driver = row(Driver)
    weighed_on = serializers.DateField()
    mass = TypedQuantity(kind=Kind.MASS, limits=bounds.DRIVER)


class TrackShapeSerializer(serializers.Serializer[Any]):
    """What is known of a track."""

    name = serializers.CharField(max_length=80)
    surface = serializers.ChoiceField(Surface.choices)
    corner_radius = TypedQuantity(
        kind=Kind.LENGTH, limits=bounds.CORNER_RADIUS, required=False, allow_null=True
    )
    lap_length = TypedQuantity(kind=Kind.LENGTH, limits=bounds.LAP, required=False, allow_null=True)
    banking = TypedQuantity(kind=Kind.ANGLE, limits=bounds.BANKING, required=False, allow_null=True)


class TrackSerializer(serializers.ModelSerializer[Track]):
    """A track."""

    corner_radius = TypedQuantity(
        kind=Kind.LENGTH, typed_from="typed.corner_radius", allow_null=True, read_only=True
    )
    lap_length = TypedQuantity(
        kind=Kind.LENGTH, typed_from="typed.lap_length", allow_null=True, read_only=True
    )
    banking = TypedQuantity(
        kind=Kind.ANGLE, typed_from="typed.banking", allow_null=True, read_only=True
    )

    class Meta:
        model = Track
        fields = ("id", "club", "name", "surface", "corner_radius", "lap_length", "banking")


class TrackCreateSerializer(CreateOnceSerializer, TrackShapeSerializer):
    """A new track."""

    club = row(Club)


class RaceClassSerializer(serializers.ModelSerializer[RaceClass]):
    """A class."""

    class Meta:
        model = RaceClass
        fields = ("id", "club", "name")


class RaceClassCreateSerializer(CreateOnceSerializer):
    """A new class."""

    club = row(Club)
    name = serializers.CharField(max_length=60)
