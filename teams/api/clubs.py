"""The API of clubs: members, invitations, tracks, classes."""

from typing import Any
from uuid import UUID

from django.db.models import Q
from django.urls import reverse
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import mixins, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from clubsetup.access.api.creating import CreateOnceMixin, creates
from teams.actions import clubs, invitations, places
from teams.api import serializers as s
from teams.api.base import ByPerson, ListsOfClubs, ListsOwnRows
from teams.models import Club, ClubMember, Invitation, RaceClass, Track
from teams.queries.roles import Roles


class Clubs(
    ListsOwnRows, ByPerson, mixins.ListModelMixin, mixins.RetrieveModelMixin, GenericViewSet[Club]
):
    """The clubs of the person asking."""

    queryset = Club.objects.order_by("-id")
    serializer_class = s.ClubSerializer

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Those they are in, and those they founded."""
        return rows.filter(Q(pk__in=roles.member_clubs) | Q(founder=self.by))

    @extend_schema(request=s.ClubSerializer(partial=True))
    def partial_update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Changes the club's preferred units, its time zone, how long tablets may rest, or whether
        stewards and officials must have a second factor."""
        club = self.get_object()
        given = self.get_serializer(club, data=request.data, partial=True)
        given.is_valid(raise_exception=True)
        wanted = given.validated_data
        if "preferred_units" in wanted:
            clubs.set_club_units(by=self.by, club=club, units=wanted["preferred_units"])
        if "time_zone" in wanted:
            clubs.set_club_time_zone(by=self.by, club=club, time_zone=wanted["time_zone"])
        if "official_idle_minutes" in wanted:
            minutes = wanted["official_idle_minutes"]
            clubs.set_club_idle_minutes(by=self.by, club=club, minutes=minutes)
        if "asks_second_factor" in wanted:
            asked = wanted["asks_second_factor"]
            clubs.set_club_second_factor(by=self.by, club=club, asked=asked)
        return Response(self.get_serializer(club).data)


class ClubMembers(
    ListsOfClubs,
    ByPerson,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    GenericViewSet[ClubMember],
):
    """Who is in the club. They come by invitation; `DELETE` takes the role away."""

    queryset = ClubMember.objects.select_related("user", "club").order_by("-id")
    serializer_class = s.ClubMemberSerializer
    filterset_fields = ("club", "role", "user")

    @extend_schema(responses={204: None})
    def destroy(self, *_: Any, **__: Any) -> Response:
        """Takes the role away, or lays one's own down."""
        clubs.remove_club_member(by=self.by, member=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)


@extend_schema_view(create=creates(s.InvitationMadeSerializer, s.InvitationCreateSerializer))
class Invitations(
    ListsOwnRows, ByPerson, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """Invitations by link, for those who may invite."""

    queryset = Invitation.objects.select_related("club", "team").order_by("-id")
    serializer_class = s.InvitationSerializer
    create_serializer_class = s.InvitationCreateSerializer
    filterset_fields = ("club", "team", "role")

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Of the teams whose chiefs they are, and of the clubs whose stewards they are."""
        return rows.of_teams_or_clubs(roles.chief_teams, roles.steward_clubs)

    def make(self, *, row_id: UUID, **given: Any) -> Invitation:
        """Makes the invitation and keeps its link for the answer."""
        invitation, secret = invitations.invite(by=self.by, invitation_id=row_id, **given)
        path = reverse("join", args=[secret])
        invitation.link = self.request.build_absolute_uri(path)  # type: ignore[attr-defined]
        return invitation

    def answer(self, row: Any) -> dict[str, Any]:
        """With the link where it was made just now."""
        made = hasattr(row, "link")
        written = s.InvitationMadeSerializer if made else s.InvitationSerializer
        data: dict[str, Any] = written(row).data
        return data

    @extend_schema(request=None, responses=s.InvitationSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, *_: Any, **__: Any) -> Response:
        """Makes the link worthless."""
        done = invitations.withdraw_invitation(by=self.by, invitation=self.get_object())
        return Response(s.InvitationSerializer(done).data)

    @extend_schema(request=s.AcceptSerializer, responses=s.InvitationSerializer)
    @action(detail=False, methods=["post"])
    def accept(self, request: Request) -> Response:
        """Takes up the invitation behind a link."""
        given = s.AcceptSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = invitations.accept_invitation(by=self.by, secret=given.validated_data["secret"])
        return Response(s.InvitationSerializer(done).data)


@extend_schema_view(create=creates(s.TrackSerializer, s.TrackCreateSerializer))
class Tracks(
    ListsOfClubs, ByPerson, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """The tracks of the person's clubs."""

    queryset = Track.objects.select_related("club").order_by("-id")
    serializer_class = s.TrackSerializer
    create_serializer_class = s.TrackCreateSerializer
    filterset_fields = ("club", "surface")

    def make(self, *, row_id: UUID, **given: Any) -> Track:
        """Adds the track."""
        return places.add_track(by=self.by, track_id=row_id, **given)

    @extend_schema(request=s.TrackShapeSerializer, responses=s.TrackSerializer)
    def update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Writes the track's shape anew; what is left out is unknown."""
        track = self.get_object()
        given = s.TrackShapeSerializer(data=request.data, context=self.get_serializer_context())
        given.is_valid(raise_exception=True)
        done = places.change_track(by=self.by, track=track, **given.validated_data)
        return Response(self.get_serializer(done).data)


@extend_schema_view(create=creates(s.RaceClassSerializer, s.RaceClassCreateSerializer))
class RaceClasses(
    ListsOfClubs, ByPerson, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """The classes of the person's clubs."""

    queryset = RaceClass.objects.order_by("-id")
    serializer_class = s.RaceClassSerializer
    create_serializer_class = s.RaceClassCreateSerializer
    filterset_fields = ("club",)

    def make(self, *, row_id: UUID, **given: Any) -> RaceClass:
        """Adds the class."""
        return places.add_race_class(by=self.by, race_class_id=row_id, **given)
