"""A driver's progress as JSON."""

from datetime import date
from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.history.queries.progress import BY, before_of, by_of, progress_of
from cars.permissions import check_can_see_progress
from clubsetup.access.api.me import asking
from teams.lookups import read_or_404
from teams.models import Driver


class SteadinessSerializer(serializers.Serializer[Any]):
    """How far the laps that count lie about the middle of their run, seconds."""

    spread_s = serializers.FloatField(help_text="Robust: 1.4826 times the median distance.")
    low_s = serializers.FloatField(help_text="Of the 95 % interval.")
    high_s = serializers.FloatField()
    steady = serializers.IntegerField(help_text="Laps within 0.15 s of the middle of their run.")
    laps = serializers.IntegerField()
    runs = serializers.IntegerField()


class PeriodSerializer(serializers.Serializer[Any]):
    """A day, or the week from its Monday."""

    start = serializers.DateField()
    runs = serializers.IntegerField()
    laps = serializers.IntegerField(help_text="Those that count.")
    steadiness = SteadinessSerializer(allow_null=True, help_text="null of fewer than twelve laps.")
    hands = serializers.DictField(
        child=serializers.IntegerField(), help_text="Runs, by where the hands were."
    )
    balance = serializers.DictField(
        child=serializers.IntegerField(),
        help_text="Entries, middles and exits of corners that pushed, turned or were loose.",
    )


class ProgressSerializer(serializers.Serializer[Any]):
    """The oldest first."""

    driver = serializers.UUIDField(source="driver.pk")
    by = serializers.ChoiceField(choices=sorted(BY))
    periods = PeriodSerializer(many=True)
    earlier = serializers.DateField(
        allow_null=True, help_text="Ask with it as `before` for the periods before these."
    )


class ProgressView(APIView):
    """Of one driver, never held against another."""

    @extend_schema(
        parameters=[
            OpenApiParameter("by", str, enum=sorted(BY), default="week"),
            OpenApiParameter("before", date, description="Only periods before this day."),
        ],
        responses=ProgressSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """The newest twelve days or weeks with runs; the crew and the coach whom they let in."""
        by, asked = asking(request), request.query_params
        driver = read_or_404(by, Driver.objects.select_related("team__club"), pk)
        check_can_see_progress(by, driver)
        found = progress_of(driver, by_of(asked.get("by", "week")), before_of(asked.get("before")))
        return Response(ProgressSerializer(found).data)
