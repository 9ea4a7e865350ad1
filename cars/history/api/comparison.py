"""Sheets side by side, through the API."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView
from rest_framework.viewsets import GenericViewSet

from cars.history.actions.comparisons import print_comparison
from cars.history.queries.comparison import (
    LEAST,
    MOST,
    ComparedBox,
    ComparedSheets,
    compare_sheets,
    ids_of,
)
from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.models import ApiToken
from clubsetup.printing.api.serializers import PrintJobSerializer
from clubsetup.printing.models import PrintJob
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import CANONICAL
from teams.api.base import ByPerson
from teams.queries.reads import note_readers

STATES = ["compared", "not taken", "retake", "not compared"]


class ComparedSheetSerializer(serializers.Serializer[Any]):
    """One of the sheets; the first is what the others are held against."""

    id = serializers.UUIDField()
    car = serializers.UUIDField(help_text="The car's id.")
    number = serializers.CharField(help_text="The car's number.")
    role = serializers.ChoiceField(choices=["found", "set", "target"])
    made_on = serializers.DateField()


class ComparedFigureSerializer(serializers.Serializer[Any]):
    """What one sheet says."""

    sheet = serializers.UUIDField()
    state = serializers.ChoiceField(choices=STATES)
    value = serializers.CharField(allow_null=True, help_text="Canonical, an exact decimal.")
    difference = serializers.CharField(
        allow_null=True, help_text="From the first sheet; null where it is not compared."
    )
    reach = serializers.CharField(
        allow_null=True, help_text="So far apart equal cars may seem by the tools alone."
    )
    told = serializers.BooleanField(help_text="The difference is more than its reach.")


class ComparedBoxSerializer(serializers.Serializer[Any]):
    """One measure at one spot on every sheet."""

    measure = serializers.SlugField()
    spot = serializers.CharField()
    unit = serializers.CharField(help_text="Canonical: mm, kg, deg, kPa, N/mm, ...")
    target = serializers.CharField(allow_null=True)
    tolerance = serializers.CharField()
    usual_tolerance = serializers.BooleanField(
        help_text="No target says how near is near enough; the usual is taken."
    )
    apart = serializers.FloatField(
        allow_null=True, help_text="The largest difference told, in tolerances."
    )
    figures = ComparedFigureSerializer(many=True)


class ComparisonSerializer(serializers.Serializer[Any]):
    """The whole comparison."""

    sheets = ComparedSheetSerializer(many=True)
    apart = ComparedBoxSerializer(
        many=True, help_text="Apart by more than the tools can tell, the furthest first."
    )
    alike = ComparedBoxSerializer(many=True)
    not_compared = ComparedBoxSerializer(many=True)


@extend_schema(
    summary="Sheets side by side",
    description=(
        "Two to twelve sheets held against the first, in tolerances of its targets. Two figures as "
        "read are apart where they differ by more than half a step of each tool together; computed "
        "ones by more than 1.96 of their combined standard uncertainty. A sheet that is not yours "
        "to see is as if it were not."
    ),
    parameters=[
        OpenApiParameter(
            "sheets", str, required=True, description="Ids of sheets, with commas between."
        )
    ],
    responses=ComparisonSerializer,
)
class Compare(ByPerson, APIView):
    """One answer; writes nothing but who read it."""

    serializer_class = ComparisonSerializer

    def get(self, request: Request) -> Response:
        """Compares the sheets."""
        compared = compare_sheets(ids_of([request.query_params.get("sheets", "")]))
        note_readers(self.by, (each.sheet.team_id for each in compared.sheets))
        return Response(ComparisonSerializer(_answer(compared)).data)


class ComparisonPrintSerializer(CreateOnceSerializer):
    """Which sheets."""

    sheets = serializers.ListField(
        child=serializers.UUIDField(),
        min_length=LEAST,
        max_length=MOST,
        help_text="Two to twelve; the others are held against the first.",
    )


@extend_schema_view(create=creates(PrintJobSerializer, ComparisonPrintSerializer))
class ComparisonPrints(ByPerson, CreateOnceMixin, GenericViewSet[PrintJob]):
    """Sheets side by side on paper: read the print's state under `prints` until it is ready."""

    queryset = PrintJob.objects.select_related("stored")
    serializer_class = PrintJobSerializer
    create_serializer_class = ComparisonPrintSerializer
    read_scope = write_scope = ApiToken.Scope.PRINT

    def make(self, *, row_id: UUID, **given: Any) -> PrintJob:
        """Asks for it."""
        sheets = ids_of([str(pk) for pk in given["sheets"]])
        return print_comparison(by=self.by, sheets=sheets, job_id=row_id)


def _answer(compared: ComparedSheets) -> dict[str, Any]:
    sheets = [each.sheet for each in compared.sheets]
    return {
        "sheets": [
            {
                "id": sheet.pk,
                "car": sheet.car_id,
                "number": sheet.car.number,
                "role": sheet.role,
                "made_on": sheet.made_on,
            }
            for sheet in sheets
        ],
        "apart": [_box(box, compared) for box in compared.told],
        "alike": [_box(box, compared) for box in compared.alike],
        "not_compared": [_box(box, compared) for box in compared.not_compared],
    }


def _box(box: ComparedBox, compared: ComparedSheets) -> dict[str, Any]:
    return {
        "measure": box.key.measure,
        "spot": box.key.spot,
        "unit": CANONICAL[Kind(box.measure.kind)],
        "target": f"{box.standard.target.normalize():f}" if box.standard else None,
        "tolerance": f"{box.tolerance.normalize():f}",
        "usual_tolerance": not box.has_own_tolerance,
        "apart": box.apart,
        "figures": [_figure(box, index, compared) for index in range(len(compared.sheets))],
    }


def _figure(box: ComparedBox, index: int, compared: ComparedSheets) -> dict[str, Any]:
    each, figure, apart = compared.sheets[index], box.figures[index], box.differences[index]
    state = "not taken" if figure is None else "compared" if apart else "not compared"
    state = "retake" if figure is not None and box.key in each.stale else state
    return {
        "sheet": each.sheet.pk,
        "state": state,
        "value": None if figure is None else f"{figure.value.normalize():f}",
        "difference": None if apart is None else f"{apart.amount.normalize():f}",
        "reach": None if apart is None else f"{apart.reach.normalize():f}",
        "told": bool(apart and apart.is_told),
    }
