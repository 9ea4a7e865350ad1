"""The API of teams: members, coaches, drivers."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import mixins, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.reauthentication import check_still_you
from teams.actions import drivers, teams
from teams.actions.erasing import erase_driver
from teams.api import serializers as s
from teams.api.base import ByPerson, ListsOfClubs, ListsOfTeams, ListsOwnRows, NotesReaders
from teams.models import CoachLink, Driver, DriverBirth, DriverWeight, Team, TeamMember
from teams.queries.roles import Roles


@extend_schema_view(create=creates(s.TeamSerializer, s.TeamCreateSerializer))
class Teams(
    ListsOfClubs, ByPerson, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """The teams of the person's clubs; what is inside a team is its own."""

    queryset = Team.objects.order_by("-id")
    serializer_class = s.TeamSerializer
    create_serializer_class = s.TeamCreateSerializer
    filterset_fields = ("club",)

    def make(self, *, row_id: UUID, **given: Any) -> Team:
        """Makes the team; its first chief comes by invitation."""
        return teams.make_team(by=self.by, team_id=row_id, **given)


class TeamMembers(
    ListsOwnRows,
    ByPerson,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    GenericViewSet[TeamMember],
):
    """Who is in the teams. They come by invitation."""

    queryset = TeamMember.objects.select_related("user", "team").order_by("-id")
    serializer_class = s.TeamMemberSerializer
    filterset_fields = ("team", "role", "user")

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Of the teams they may read, and of the clubs whose stewards they are."""
        return rows.of_teams_or_clubs(roles.readable_teams, roles.steward_clubs)

    @extend_schema(request=s.TeamMemberSerializer(partial=True))
    def partial_update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Changes the role."""
        member = self.get_object()
        given = self.get_serializer(member, data=request.data, partial=True)
        given.is_valid(raise_exception=True)
        role = given.validated_data.get("role", member.role)
        done = teams.set_team_role(by=self.by, member=member, role=role)
        return Response(self.get_serializer(done).data)

    @extend_schema(responses={204: None})
    def destroy(self, *_: Any, **__: Any) -> Response:
        """Removes the member, or leaves the team."""
        teams.remove_team_member(by=self.by, member=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)


@extend_schema_view(create=creates(s.CoachLinkSerializer, s.CoachLinkCreateSerializer))
class CoachLinks(
    ListsOwnRows, ByPerson, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """Which coaches see which teams."""

    queryset = CoachLink.objects.select_related("team__club", "coach").order_by("-id")
    serializer_class = s.CoachLinkSerializer
    create_serializer_class = s.CoachLinkCreateSerializer
    filterset_fields = ("team", "coach")

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Of their own teams and the clubs whose stewards they are, and links to themselves, which
        stay when they are no coach of the club any longer."""
        own = rows.of_teams_or_clubs(roles.teams, roles.steward_clubs)
        return own | rows.filter(coach=self.by)

    def make(self, *, row_id: UUID, **given: Any) -> CoachLink:
        """Lets the coach in."""
        return teams.link_coach(by=self.by, link_id=row_id, **given)

    @extend_schema(request=s.CoachLinkSerializer(partial=True))
    def partial_update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Changes what else the coach may do."""
        link = self.get_object()
        given = s.CoachLinkSerializer(link, data=request.data, partial=True)
        given.is_valid(raise_exception=True)
        now = {"may_write": link.may_write, "may_see_codes": link.may_see_codes}
        wanted = {**now, **given.validated_data}
        done = teams.link_coach(by=self.by, team=link.team, coach=link.coach, **wanted)
        return Response(s.CoachLinkSerializer(done).data)

    @extend_schema(responses={204: None})
    def destroy(self, *_: Any, **__: Any) -> Response:
        """Ends the link."""
        teams.unlink_coach(by=self.by, link=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)


@extend_schema_view(create=creates(s.DriverSerializer, s.DriverCreateSerializer))
class Drivers(
    ListsOfTeams, NotesReaders, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """Drivers by their names on the lap board."""

    queryset = Driver.objects.select_related("team").order_by("-id")
    serializer_class = s.DriverSerializer
    create_serializer_class = s.DriverCreateSerializer
    filterset_fields = ("team",)

    def make(self, *, row_id: UUID, **given: Any) -> Driver:
        """Adds the driver."""
        return drivers.add_driver(by=self.by, driver_id=row_id, **given)

    @extend_schema(request=s.DriverSerializer(partial=True))
    def partial_update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Changes the name."""
        driver = self.get_object()
        given = s.DriverSerializer(driver, data=request.data, partial=True)
        given.is_valid(raise_exception=True)
        name = given.validated_data.get("display_name", driver.display_name)
        done = drivers.rename_driver(by=self.by, driver=driver, display_name=name)
        return Response(s.DriverSerializer(done).data)

    @extend_schema(responses={204: None})
    def destroy(self, *_: Any, **__: Any) -> Response:
        """Erases the driver, for good: birth date, weight log, age answers, stored prints, and the
        name in the team's notes. Official records keep number and display name."""
        driver = self.get_object()
        check_still_you(self.request._request)
        erase_driver(by=self.by, driver=driver)
        return Response(status=status.HTTP_204_NO_CONTENT)

    @extend_schema(responses=s.BirthDateSerializer)
    @action(detail=True, methods=["get"], url_path="birth-date")
    def birth_date(self, *_: Any, **__: Any) -> Response:
        """The birth date, for the crew; to anybody else there is none."""
        birth = get_object_or_404(DriverBirth, driver=self.get_object())
        return Response(s.BirthDateSerializer(birth).data)

    @extend_schema(request=s.BirthDateSerializer, responses=s.BirthDateSerializer)
    @birth_date.mapping.put
    def set_birth_date(self, request: Request, **_: Any) -> Response:
        """Sets the birth date."""
        driver = self.get_object()
        given = s.BirthDateSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        drivers.set_birth_date(by=self.by, driver=driver, **given.validated_data)
        return Response(given.data)


@extend_schema_view(create=creates(s.DriverWeightSerializer, s.DriverWeightCreateSerializer))
class DriverWeights(
    ListsOfTeams, NotesReaders, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin
):
    """Drivers' weight logs, for the crew and the team's coach."""

    queryset = DriverWeight.objects.select_related("driver__team").order_by("-id")
    serializer_class = s.DriverWeightSerializer
    create_serializer_class = s.DriverWeightCreateSerializer
    filterset_fields = ("driver", "weighed_on")

    def make(self, *, row_id: UUID, **given: Any) -> DriverWeight:
        """Logs the weight."""
        return drivers.log_driver_weight(by=self.by, weight_id=row_id, **given)

    @extend_schema(responses={204: None})
    def destroy(self, *_: Any, **__: Any) -> Response:
        """Strikes a line written by mistake."""
        drivers.remove_driver_weight(by=self.by, weight=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)
