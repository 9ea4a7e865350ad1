"""The API of parts at corners, preferences, and what is told of a baseline."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.api_base import Listed
from cars.baselines.actions.preferences import drop_preference, move_to_baseline, prefer
from cars.baselines.api import preference_serializers as s
from cars.baselines.api.serializers import CarSerializer
from cars.baselines.api.targets import figures_of_target
from cars.baselines.queries.fleet_spread import review
from cars.baselines.queries.preferences import car_preferences
from cars.baselines.queries.versions import newer_than
from cars.lookups import baseline_or_404, car_or_404
from cars.models import Preference
from cars.permissions import check_can_keep_baseline
from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.api.me import asking


@extend_schema_view(create=creates(s.PreferenceSerializer, s.PreferenceCreateSerializer))
class Preferences(CreateOnceMixin, Listed):
    """What teams prefer beside the maker's and the club's figures; the club does not see it."""

    queryset = Preference.objects.select_related("measure").order_by("-id")
    serializer_class = s.PreferenceSerializer
    create_serializer_class = s.PreferenceCreateSerializer
    filterset_fields = {
        "car": ["exact"],
        "surface": ["exact"],
        "measure": ["exact"],
        "spot": ["exact"],
        "replaced_at": ["isnull"],
    }

    def make(self, *, row_id: UUID, **given: Any) -> Preference:
        """Prefers it, in place of what stood."""
        units = self.by.units(given["car"].team.club.units())
        given["target"], given["tolerance"] = figures_of_target(given, units)
        return prefer(by=self.by, preference_id=row_id, **given)

    @extend_schema(request=s.WithdrawSerializer, responses=s.PreferenceSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """The team goes by the baseline again; what it preferred is kept as replaced."""
        # With the car, which may be another team's by now: then there is nothing to withdraw.
        rows = Preference.objects.select_related("car__team", "measure")
        found = get_object_or_404(rows, pk=self.get_object().pk)
        given = s.WithdrawSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = drop_preference(by=self.by, preference=found, **given.validated_data)
        return Response(s.PreferenceSerializer(done).data)


class CarPreferencesView(APIView):
    """The team's own targets for a car, in the order of authority."""

    @extend_schema(responses=s.CarPreferencesSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """Each beside the figure of the baseline that the car goes by."""
        view = car_preferences(car_or_404(request, pk), asking(request))
        return Response(s.CarPreferencesSerializer(view).data)


class CarMoveToBaseline(APIView):
    """Which baseline a car goes by."""

    @extend_schema(request=s.MoveToBaselineSerializer, responses=CarSerializer)
    def post(self, request: Request, pk: UUID) -> Response:
        """It goes by this one, which is in force, from now on; its sheets keep theirs."""
        car, by = car_or_404(request, pk), asking(request)
        given = s.MoveToBaselineSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        return Response(
            CarSerializer(move_to_baseline(by=by, car=car, **given.validated_data)).data
        )


class BaselineNewer(APIView):
    """What changed since a version of a baseline."""

    @extend_schema(responses=s.MaybeNewerSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """The version in force of its line, where that is a later one, and every target that is
        not what it was.
        """
        newer = newer_than(baseline_or_404(pk), asking(request))
        return Response(s.MaybeNewerSerializer({"newer": newer}).data)


class BaselineReview(APIView):
    """A baseline beside what teams run."""

    @extend_schema(responses=s.ReviewLineSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """For the club's stewards: counts, middles and spreads over at least five teams, rounded;
        never a team's own figure.
        """
        baseline, by = baseline_or_404(pk), asking(request)
        check_can_keep_baseline(by, baseline)
        return Response(s.ReviewLineSerializer(review(baseline, by), many=True).data)
