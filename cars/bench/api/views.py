"""The API of a bench: started, looked at as a whole and step by step, followed."""

from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.bench.actions import start_bench
from cars.bench.api import serializers as s
from cars.bench.presenters.at_step import at_step
from cars.bench.presenters.evening import evening_of
from cars.bench.queries.versions import version_of
from cars.lookups import car_or_404, sheet_or_404
from cars.models import Sheet
from cars.sheets.actions.set_sheet import open_set_sheet
from cars.sheets.api.serializers import SheetSerializer
from cars.sheets.presenters.sheet_trail import sheet_trail
from cars.sheets.queries.targets import target_sources
from clubsetup.access.api.idempotency import answers_once, by_id, made_once
from clubsetup.access.api.me import asking

VERSION = OpenApiParameter(
    "version", str, description="What you have: answered with 204 where nothing is newer."
)


class BenchChoices(APIView):
    """What the targets of a bench of this car may be."""

    @extend_schema(responses=s.TargetSourceChoiceSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """The baselines in force, the car's own first; the team's own targets; its target
        sheets; the sheet as set last at each track.
        """
        return Response(
            s.TargetSourceChoiceSerializer(target_sources(car_or_404(request, pk)), many=True).data
        )


class CarBenches(APIView):
    """Benches of a car."""

    @extend_schema(request=s.BenchStartSerializer, responses=answers_once(SheetSerializer))
    def post(self, request: Request, pk: UUID) -> Response:
        """Starts one: opens the sheet whose steps are then worked through."""
        car, by = car_or_404(request, pk), asking(request)
        context = {"units": by.units(car.team.club.units())}
        sent = s.BenchStartSerializer(data=request.data, context=context)
        sent.is_valid(raise_exception=True)
        given = dict(sent.validated_data)
        sheet, code = made_once(
            request,
            given.pop("id", None),
            lambda chosen: start_bench(by=by, car=car, sheet_id=chosen, **given),
            by_id(Sheet),
        )
        return Response(SheetSerializer(sheet).data, code)


class SheetBench(APIView):
    """A sheet on the bench as a whole."""

    @extend_schema(responses=s.EveningSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """How far it has come, where to go on, and what may be done next."""
        evening = evening_of(sheet_or_404(request, pk), asking(request))
        return Response(s.EveningSerializer(evening).data)


class SheetBenchStep(APIView):
    """A sheet on the bench at one step."""

    @extend_schema(
        responses={
            200: s.BenchStepSerializer,
            204: OpenApiResponse(description="Nothing is newer than the version you have."),
        },
        parameters=[VERSION],
        operation_id="sheets_bench_step_retrieve",
    )
    def get(self, request: Request, pk: UUID, step: str) -> Response:
        """What to measure, where, target and tolerance, what stands, was found and set last time,
        what must be read again and why; the cautions, and the reason for the order.
        """
        version = version_of(pk)
        if version is not None and version == request.query_params.get("version"):
            return Response(status=status.HTTP_204_NO_CONTENT)
        sheet, by = sheet_or_404(request, pk), asking(request)
        try:
            view = at_step(sheet, by, step)
        except KeyError as error:
            raise Http404 from error
        return Response(s.BenchStepSerializer(view).data)


class SheetFollow(APIView):
    """The sheet as set after a found one."""

    @extend_schema(request=s.FollowSerializer, responses=answers_once(SheetSerializer))
    def post(self, request: Request, pk: UUID) -> Response:
        """Opens it, after the found one is closed: its figures, its head and its target."""
        sheet, by = sheet_or_404(request, pk), asking(request)
        given = s.FollowSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        opened, code = made_once(
            request,
            given.validated_data.get("id"),
            lambda chosen: open_set_sheet(by=by, sheet=sheet, sheet_id=chosen),
            by_id(Sheet),
        )
        return Response(SheetSerializer(opened).data, code)


class SheetTrail(APIView):
    """What happened to a sheet."""

    @extend_schema(responses=s.TrailLineSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """Every reading ever taken, the replaced ones too, and what else was done; oldest first."""
        lines = sheet_trail(sheet_or_404(request, pk))
        return Response(s.TrailLineSerializer(lines, many=True).data)
