"""The API of the pre-check: what a family's own scales said in, what the rules would say out."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from clubsetup.access.api.me import asking
from events.precheck.api.serializers import PrecheckAskedSerializer, PrecheckSerializer
from events.precheck.presenters.precheck import CARS, precheck_of_car
from events.precheck.queries.precheck_params import USUAL, asked_of
from teams.lookups import read_or_404


class CarPrecheck(APIView):
    """A car of one's team before it queues; for its members and coaches."""

    @extend_schema(parameters=[PrecheckAskedSerializer], responses=PrecheckSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """What the class's rules would say, and which pieces to add where. Nothing is kept."""
        by = asking(request)
        car = read_or_404(by, CARS, pk)
        context: dict[str, Any] = {"units": by.units(car.team.club.units())}
        sent = {**USUAL, **request.query_params.dict()}
        given = PrecheckAskedSerializer(data=sent, context=context)
        given.is_valid(raise_exception=True)
        asked = asked_of(given.validated_data, given.validated_data["read"])
        return Response(PrecheckSerializer(precheck_of_car(car, by, asked)).data)
