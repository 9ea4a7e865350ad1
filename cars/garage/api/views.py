"""The API of cars, parts and ballast pieces."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from cars.api_base import InClubUnits, Listed
from cars.baselines.api.serializers import CarSerializer
from cars.garage.actions import ballast, cars, parts
from cars.garage.api import serializers as s
from cars.models import BallastPiece, Car, Part
from cars.sheets.actions.ballast import move_ballast_piece
from cars.sheets.api.ballast_serializers import (
    PieceCreateSerializer,
    PieceSerializer,
    PlaceSerializer,
)
from cars.sheets.api.part_serializers import PartCodeSerializer, PartSerializer
from clubsetup.access.api.creating import CreateOnceMixin, creates
from teams.api.base import ListsOfTeams, ListsOwnRows, NotesReaderOfOne
from teams.queries.roles import Roles


@extend_schema_view(create=creates(CarSerializer, s.CarCreateSerializer))
class Cars(ListsOfTeams, NotesReaderOfOne, CreateOnceMixin, Listed):
    """The cars of one's teams and of those one coaches."""

    queryset = Car.objects.select_related("team__club", "chassis").order_by("-id")
    serializer_class = CarSerializer
    create_serializer_class = s.CarCreateSerializer
    filterset_fields = ("team", "chassis", "race_class")

    def make(self, *, row_id: UUID, **given: Any) -> Car:
        """Adds the car."""
        return cars.add_car(by=self.by, car_id=row_id, **given)

    @extend_schema(request=s.CarEditSerializer, responses=CarSerializer)
    def update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Writes number, name, chassis, class and baseline anew."""
        car = self.get_object()
        given = s.CarEditSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = cars.edit_car(by=self.by, car=car, **given.validated_data)
        return Response(CarSerializer(done).data)


@extend_schema_view(create=creates(PartSerializer, s.PartCreateSerializer))
class Parts(ListsOfTeams, InClubUnits, Listed):
    """The parts of teams, for those who may see the team's codes."""

    queryset = Part.objects.select_related("code", "team").order_by("-id")
    serializer_class = PartSerializer
    create_serializer_class = s.PartCreateSerializer
    filterset_fields = ("team", "sort")

    def make(self, *, row_id: UUID, **given: Any) -> Part:
        """Adds the part."""
        return parts.add_part(by=self.by, part_id=row_id, **given)

    @extend_schema(request=PartCodeSerializer, responses=PartSerializer)
    @action(detail=True, methods=["put"])
    def code(self, request: Request, *_: Any, **__: Any) -> Response:
        """Sets the team's code."""
        part = self.get_object()
        given = PartCodeSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        parts.set_part_code(by=self.by, part=part, **given.validated_data)
        return Response(PartSerializer(self.get_object()).data)


@extend_schema_view(create=creates(PieceSerializer, PieceCreateSerializer))
class BallastPieces(ListsOwnRows, InClubUnits, Listed):
    """Ballast pieces; officials see those of cars entered at their club's events."""

    queryset = BallastPiece.objects.select_related("team").order_by("-id")
    serializer_class = PieceSerializer
    create_serializer_class = PieceCreateSerializer
    filterset_fields = ("team", "car")

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Of the teams they may read. An official sees pieces of whichever team's car is entered,
        which no team or club of theirs can say."""
        return rows if roles.official_clubs else rows.of_teams(roles.readable_teams)

    def make(self, *, row_id: UUID, **given: Any) -> BallastPiece:
        """Adds the piece."""
        return ballast.add_ballast_piece(by=self.by, piece_id=row_id, **given)

    @extend_schema(request=PlaceSerializer, responses=PieceSerializer)
    @action(detail=True, methods=["post"])
    def move(self, request: Request, *_: Any, **__: Any) -> Response:
        """Fixes it to a car, or puts it on the shelf."""
        piece = self.get_object()
        given = PlaceSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = move_ballast_piece(by=self.by, piece=piece, **given.validated_data)
        return Response(PieceSerializer(done).data)

    @extend_schema(request=None, responses=PieceSerializer)
    @action(detail=True, methods=["post"])
    def retire(self, *_: Any, **__: Any) -> Response:
        """Takes it out of use."""
        done = ballast.retire_ballast_piece(by=self.by, piece=self.get_object())
        return Response(PieceSerializer(done).data)
