"""Did it help, through the API."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.lookups import car_or_404
from cars.models import Run
from cars.runs.queries.helped import MOST_COMPARED, compare
from clubsetup.access.errors import Invalid
from teams.api.base import ByPerson


class HelpSerializer(serializers.Serializer[Any]):
    """The difference after minus before, s a lap: below zero is faster."""

    difference_s = serializers.FloatField()
    low_s = serializers.FloatField(help_text="The lower end of the 95 % interval.")
    high_s = serializers.FloatField(help_text="The upper end of the 95 % interval.")
    verdict = serializers.ChoiceField(
        choices=["faster", "slower", "no difference worth having", "cannot tell"]
    )
    runs_needed = serializers.IntegerField(
        allow_null=True,
        help_text="So many more runs would tell 0.1 s with a chance of 80 %; null where more than "
        "60 would not.",
    )
    tonight = serializers.BooleanField(help_text="An evening holds that many.")
    next_group = serializers.ChoiceField(
        choices=["before", "after"], help_text="How to run the car next."
    )
    warnings = serializers.ListField(child=serializers.CharField())


@extend_schema(
    summary="Whether a change helped",
    description=(
        "Two groups of runs of one car, by their ids with commas between. The unit is the run and "
        "not the lap. The record of the driver on this surface says how runs scatter."
    ),
    parameters=[
        OpenApiParameter(name, str, required=True, description=f"Runs {name} the change.")
        for name in ("before", "after")
    ],
    responses=HelpSerializer,
)
class DidItHelp(ByPerson, APIView):
    """One answer; writes nothing."""

    serializer_class = HelpSerializer

    def get(self, request: Request) -> Response:
        """Compares the runs."""
        before, after = (_ids(request, name) for name in ("before", "after"))
        run = Run.objects.filter(pk__in=before).only("car_id").first()
        if run is None:
            raise Invalid("before", "There is no such run.")
        car = car_or_404(request, run.car_id)
        return Response(HelpSerializer(compare(car, before, after).help).data)


def _ids(request: Request, name: str) -> list[UUID]:
    texts = [text for text in request.query_params.get(name, "").split(",") if text]
    try:
        ids = [UUID(text) for text in texts]
    except ValueError as error:
        raise Invalid(name, "Write the ids of runs, with commas between.") from error
    if not 1 <= len(ids) <= MOST_COMPARED:
        raise Invalid(name, f"Write one to {MOST_COMPARED} ids of runs, with commas between.")
    return ids
