"""The API of a team's own targets, of newer baselines and of what teams run."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.api_base import Listed
from cars.baselines.actions.own_targets import drop_own_target, move_to_baseline, set_own_target
from cars.baselines.api import own_target_serializers as s
from cars.baselines.api.serializers import CarSerializer
from cars.baselines.api.targets import figures_of_target
from cars.baselines.presenters.fleet_spread import review
from cars.baselines.presenters.own_targets import car_own_targets
from cars.baselines.queries.versions import newer_than
from cars.lookups import baseline_or_404, car_or_404
from cars.models import OwnTarget
from cars.permissions import check_can_keep_baseline
from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.api.me import asking
from clubsetup.site.list_pages import before_of
from teams.api.base import ListsOfTeams


@extend_schema_view(create=creates(s.OwnTargetSerializer, s.OwnTargetCreateSerializer))
class OwnTargets(ListsOfTeams, CreateOnceMixin, Listed):
    """Teams' own targets, third after the maker's and the club's; the club does not see them."""

    queryset = OwnTarget.objects.select_related("measure").order_by("-id")
    serializer_class = s.OwnTargetSerializer
    create_serializer_class = s.OwnTargetCreateSerializer
    filterset_fields = {
        "car": ["exact"],
        "surface": ["exact"],
        "measure": ["exact"],
        "spot": ["exact"],
        "replaced_at": ["isnull"],
    }

    def make(self, *, row_id: UUID, **given: Any) -> OwnTarget:
        """Sets it, in place of what stood."""
        units = self.by.units(given["car"].team.club.units())
        given["target"], given["tolerance"] = figures_of_target(given, units)
        return set_own_target(by=self.by, own_target_id=row_id, **given)

    @extend_schema(request=s.WithdrawSerializer, responses=s.OwnTargetSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, pk: str) -> Response:
        """The team goes by the baseline again; its own target is kept as replaced."""
        # With the car, which may be another team's by now: then there is nothing to withdraw.
        rows = OwnTarget.objects.select_related("car__team", "measure")
        own_target = get_object_or_404(rows, pk=self.get_object().pk)
        given = s.WithdrawSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = drop_own_target(by=self.by, own_target=own_target, **given.validated_data)
        return Response(s.OwnTargetSerializer(done).data)


class CarOwnTargetsView(APIView):
    """The team's own targets for a car, in the order of authority."""

    @extend_schema(
        responses=s.CarOwnTargetsSerializer,
        parameters=[
            OpenApiParameter("before", UUID, description="A replaced one: those before it.")
        ],
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """Each beside the figure of the baseline that the car goes by."""
        view = car_own_targets(
            car_or_404(request, pk), asking(request), before_of(request.query_params)
        )
        return Response(s.CarOwnTargetsSerializer(view).data)


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
