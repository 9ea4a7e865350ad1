"""The API of chassis, mounts and baselines."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from cars.api_base import InClubUnits, Listed
from cars.baselines.actions import baselines, chassis, mounts
from cars.baselines.api import serializers as s
from cars.baselines.api.targets import targets_of
from cars.models import BallastMount, Baseline, Chassis, Measure
from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.errors import Invalid
from clubsetup.access.idempotency import create_once
from teams.api.base import ListsOfClubs


@extend_schema_view(create=creates(s.ChassisSerializer, s.ChassisCreateSerializer))
class ChassisViews(ListsOfClubs, CreateOnceMixin, Listed):
    """The chassis of the person's clubs."""

    queryset = Chassis.objects.select_related("club").order_by("-id")
    serializer_class = s.ChassisSerializer
    create_serializer_class = s.ChassisCreateSerializer
    filterset_fields = ("club",)

    def make(self, *, row_id: UUID, **given: Any) -> Chassis:
        """Adds the chassis."""
        return chassis.add_chassis(by=self.by, chassis_id=row_id, **given)

    @extend_schema(request=s.ChassisSerializer(partial=True))
    def partial_update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Changes name, geometry or note."""
        row = self.get_object()
        given = s.ChassisSerializer(row, data=request.data, partial=True)
        given.is_valid(raise_exception=True)
        done = chassis.edit_chassis(by=self.by, chassis=row, **given.validated_data)
        return Response(self.get_serializer(done).data)


@extend_schema_view(create=creates(s.MountSerializer, s.MountCreateSerializer))
class Mounts(ListsOfClubs, InClubUnits, Listed):
    """Places for ballast."""

    queryset = BallastMount.objects.order_by("-id")
    serializer_class = s.MountSerializer
    create_serializer_class = s.MountCreateSerializer
    filterset_fields = ("chassis",)
    club_from, club_by = "chassis", "chassis__pk"

    def make(self, *, row_id: UUID, **given: Any) -> BallastMount:
        """Adds the mount."""
        return mounts.add_mount(by=self.by, mount_id=row_id, **given)


BOX = [OpenApiParameter(name, str, required=True) for name in ("measure", "spot")]


@extend_schema_view(create=creates(s.BaselineSerializer, s.BaselineCreateSerializer))
class Baselines(ListsOfClubs, CreateOnceMixin, Listed):
    """Baselines: drafts for stewards, the others for every member."""

    queryset = Baseline.objects.select_related("chassis__club", "club").order_by("-id")
    serializer_class = s.BaselineSerializer
    create_serializer_class = s.BaselineCreateSerializer
    filterset_fields = ("club", "chassis", "surface", "race_class", "state")

    def make(self, *, row_id: UUID, **given: Any) -> Baseline:
        """Starts a draft."""
        return baselines.draft_baseline(by=self.by, baseline_id=row_id, **given)

    @extend_schema(responses=s.BaselineValueSerializer(many=True))
    @action(detail=True, pagination_class=None, filterset_fields=())
    def values(self, *_: Any, **__: Any) -> Response:
        """The targets of a baseline."""
        rows = self.get_object().values.select_related("measure")
        return Response(s.BaselineValueSerializer(rows, many=True).data)

    @extend_schema(
        request=s.TargetSerializer(many=True), responses=s.BaselineValueSerializer(many=True)
    )
    @values.mapping.put
    def set_values(self, request: Request, *_: Any, **__: Any) -> Response:
        """Sets targets of a draft; the others stay as they are."""
        baseline = self.get_object()
        given = s.TargetSerializer(data=request.data, many=True)
        given.is_valid(raise_exception=True)
        targets = targets_of(given.validated_data, self.by.units(baseline.club.units()))
        rows = baselines.set_baseline_values(by=self.by, baseline=baseline, targets=targets)
        return Response(s.BaselineValueSerializer(rows, many=True).data)

    @extend_schema(parameters=BOX, responses={204: None})
    @values.mapping.delete
    def remove_value(self, request: Request, *_: Any, **__: Any) -> Response:
        """Takes one target out of a draft."""
        measure = Measure.objects.filter(pk=request.query_params.get("measure", "")).first()
        if measure is None:
            raise Invalid("measure", "Name a measure of the catalogue.")
        baselines.remove_baseline_value(
            by=self.by,
            baseline=self.get_object(),
            measure=measure,
            spot=request.query_params.get("spot", ""),
        )
        return Response(status=status.HTTP_204_NO_CONTENT)

    @extend_schema(request=None, responses=s.BaselineSerializer)
    @action(detail=True, methods=["post"])
    def publish(self, *_: Any, **__: Any) -> Response:
        """Puts a draft in force; from version 2 on its note must say what changed."""
        done = baselines.publish_baseline(by=self.by, baseline=self.get_object())
        return Response(s.BaselineSerializer(done).data)

    @extend_schema(request=s.CopySerializer, responses={201: s.BaselineSerializer})
    @action(detail=True, methods=["post"])
    def copy(self, request: Request, *_: Any, **__: Any) -> Response:
        """The next draft with this one's targets."""
        source = self.get_object()
        given = s.CopySerializer(data=request.data)
        given.is_valid(raise_exception=True)
        note = given.validated_data["note"]
        draft, made = create_once(
            by=self.by,
            row_id=given.validated_data.get("id"),
            content=[request.path, request.data],
            make=lambda chosen: baselines.copy_baseline(
                by=self.by, baseline=source, note=note, baseline_id=chosen
            ),
            find=lambda chosen: Baseline.objects.filter(pk=chosen).first(),
        )
        return Response(s.BaselineSerializer(draft).data, status=201 if made else 200)
