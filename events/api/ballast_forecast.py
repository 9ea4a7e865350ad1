"""The API of the ballast forecast."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from clubsetup.access.api.me import asking
from clubsetup.access.errors import WrongState
from events.presenters.ballast_forecast import forecast_shown
from events.queries.ballast_forecast import ballast_forecast
from teams.lookups import read_or_404
from teams.models import Driver
from teams.permissions import check_can_see_weights


class BallastForecastSerializer(serializers.Serializer[Any]):
    """Masses kg; all null where `lacking` says why nothing can be told."""

    event = serializers.UUIDField(source="ahead.event.pk")
    car = serializers.UUIDField(
        source="ahead.car.pk", default=None, allow_null=True, help_text="Null where not entered."
    )
    day = serializers.DateField()
    last = serializers.DecimalField(
        source="last.mass",
        max_digits=20,
        decimal_places=10,
        default=None,
        allow_null=True,
        help_text="The last weighing.",
    )
    expected = serializers.FloatField(source="forecast.expected", default=None, allow_null=True)
    low = serializers.FloatField(
        source="forecast.low",
        default=None,
        allow_null=True,
        help_text="95 of 100 weighings lie between this and `high`.",
    )
    high = serializers.FloatField(source="forecast.high", default=None, allow_null=True)
    weighings = serializers.IntegerField(source="forecast.weighings", default=0)
    less_ballast_least = serializers.SerializerMethodField(
        help_text="Than with the last weighing; below 0 is more."
    )
    less_ballast_most = serializers.SerializerMethodField()
    lacking = serializers.CharField()
    says = serializers.SerializerMethodField(help_text="2.1 to 3.4 lb less ballast by 13 Dec")

    def get_less_ballast_least(self, found: Any) -> float | None:
        """At least."""
        return found.least if found.forecast else None

    def get_less_ballast_most(self, found: Any) -> float | None:
        """At most."""
        return found.most if found.forecast else None

    def get_says(self, found: Any) -> str:
        """As pages say it."""
        return forecast_shown(found, self.context["viewer"]).says


class BallastForecastView(APIView):
    """What a driver will weigh at the next event."""

    @extend_schema(
        responses={
            200: BallastForecastSerializer,
            409: OpenApiResponse(description="No event is ahead."),
        }
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """For the crew and the team's coach."""
        by = asking(request)
        driver = read_or_404(by, Driver.objects.select_related("team__club"), pk)
        check_can_see_weights(by, driver.team)
        found = ballast_forecast(driver, by)
        if found is None:
            raise WrongState("No event of the club is ahead.")
        return Response(BallastForecastSerializer(found, context={"viewer": by}).data)
