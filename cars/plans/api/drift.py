"""The API of drift by part and by track."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.catalogue.queries import catalogue
from cars.lookups import car_or_404
from cars.permissions import check_can_see_parts
from cars.plans.queries.drift_groups import (
    ENOUGH_IN_GROUP,
    PlaceGroups,
    drift_by_part,
    drift_by_track,
)
from clubsetup.access.api.me import asking


class DriftGroupSerializer(serializers.Serializer[Any]):
    """One part or one track: canonical units, found minus set."""

    of = serializers.UUIDField(help_text="The part, or the track.")
    name = serializers.CharField(help_text="The part's code, or the track's name.")
    weekends = serializers.IntegerField(source="habit.weekends")
    median = serializers.FloatField(source="habit.middle")
    spread = serializers.FloatField(
        source="habit.spread", help_text="1.4826 times the median deviation."
    )
    is_enough = serializers.BooleanField(
        help_text=f"Of fewer than {ENOUGH_IN_GROUP} weekends median and spread say nothing."
    )


class PlaceGroupsSerializer(serializers.Serializer[Any]):
    """One place, by what was on or where it ran."""

    measure = serializers.CharField(source="place.measure")
    spot = serializers.CharField(source="place.spot")
    sort = serializers.CharField(help_text="Of the parts; empty by track.")
    groups = DriftGroupSerializer(many=True, help_text="Those of the most weekends first.")


def _answer(places: Iterable[PlaceGroups]) -> Response:
    return Response(PlaceGroupsSerializer(list(places), many=True).data)


class DriftByPart(APIView):
    """Drift by part."""

    @extend_schema(responses=PlaceGroupsSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """By the part on the spot; for those who may see the team's codes."""
        car = car_or_404(request, pk)
        check_can_see_parts(asking(request), car.team)
        return _answer(drift_by_part(car, catalogue()))


class DriftByTrack(APIView):
    """Drift by track."""

    @extend_schema(responses=PlaceGroupsSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """By the track that the sheet as set and the next one as found name."""
        return _answer(drift_by_track(car_or_404(request, pk), catalogue()))
