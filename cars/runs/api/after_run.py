"""The API of what is read after a run, and of the parts that were on in it."""

from typing import Any
from uuid import UUID

from django.db import transaction
from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.api_base import QuantitySerializer, quantity_json
from cars.catalogue.keys import Key
from cars.mechanics import CORNER_NAMES
from cars.models import Part, Run, RunReading
from cars.permissions import check_can_note_run, check_can_note_run_parts, check_can_see_parts
from cars.runs.actions.after_run import note_run_part, note_run_readings
from cars.runs.queries.after_run import AfterRun, after_run
from cars.runs.queries.run_parts import parts_in
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.api.box_entries import entries_of
from cars.sheets.api.part_serializers import PART_SPOTS, PartSerializer
from cars.sheets.api.seen import SeenReadingField
from clubsetup.access.api.me import asking
from clubsetup.access.errors import Invalid
from teams.lookups import read_or_404

MEANWHILE = OpenApiResponse(
    description="The run is struck, or somebody else noted this since you looked: `standing` is "
    "the id of what stands now, or null."
)
CORNERS = [(corner, corner) for corner in CORNER_NAMES]
READ_AFTER = [("pressure", "Hot pressure"), ("circumference", "Roll-out after the run")]


class RunReadingSerializer(serializers.ModelSerializer[RunReading]):
    """A figure read as the car came in from the run."""

    quantity = serializers.SerializerMethodField()

    class Meta:
        model = RunReading
        fields = ("id", "measure", "spot", "quantity", "resolution", "by", "created_at")

    @extend_schema_field(QuantitySerializer)
    def get_quantity(self, reading: RunReading) -> dict[str, str] | None:
        """The figure."""
        return quantity_json(reading.value, reading.measure.kind, reading.typed)


class TyreAfterSerializer(serializers.Serializer[Any]):
    """One tyre, before and after the run; null where it was not read."""

    corner = serializers.ChoiceField(CORNERS)
    cold = serializers.FloatField(allow_null=True, help_text="As it went out, kPa.")
    hot = serializers.FloatField(allow_null=True, help_text="As it came in, kPa.")
    gain = serializers.FloatField(allow_null=True, help_text="How far it rose, kPa.")
    roll_out_before = serializers.FloatField(allow_null=True, help_text="mm")
    roll_out = serializers.FloatField(allow_null=True, help_text="mm")


class AfterRunSerializer(serializers.Serializer[Any]):
    """What was read after the run; nothing where nothing was."""

    tyres = TyreAfterSerializer(many=True)
    readings = RunReadingSerializer(many=True)


class ReadAfterSerializer(serializers.Serializer[Any]):
    """One box."""

    measure = serializers.ChoiceField(READ_AFTER)
    spot = serializers.ChoiceField(CORNERS)
    typed = serializers.CharField(
        max_length=40, allow_blank=True, help_text="As people say it: 14 psi. Empty: taken away."
    )
    seen = SeenReadingField(
        required=False,
        allow_null=True,
        help_text="The id of the reading that you saw there, null where you saw none: refused "
        "where another stands by now. Left out or `anything`: written over whatever stands.",
    )


class ReadAfterListSerializer(serializers.Serializer[Any]):
    """What was read: all of it is kept, or nothing."""

    readings = serializers.ListField(child=ReadAfterSerializer(), min_length=1, max_length=8)


class PartInRunSerializer(serializers.Serializer[Any]):
    """One sort of part at one spot in the run."""

    sort = serializers.ChoiceField(Part.Sort.choices)
    spot = serializers.ChoiceField(PART_SPOTS)
    part = PartSerializer(allow_null=True)
    swapped = serializers.BooleanField(
        help_text="Swapped at the track since the sheet, and not said for what."
    )
    said = serializers.UUIDField(
        source="seen",
        allow_null=True,
        help_text="The id of what is said of this run; null where the sheet says it.",
    )


class PartSaidSerializer(serializers.Serializer[Any]):
    """Which part was on the car in the run."""

    sort = serializers.ChoiceField(Part.Sort.choices)
    spot = serializers.ChoiceField(PART_SPOTS)
    part = serializers.PrimaryKeyRelatedField(
        queryset=Part.objects.all(),
        allow_null=True,
        help_text="One of the team's, of this sort; null: none of the team's.",
    )
    seen = SeenReadingField(
        required=False,
        allow_null=True,
        help_text="What you saw as `said` there: refused where another stands by now. Left out or "
        "`anything`: written over whatever stands.",
    )


class PartsSaidSerializer(serializers.Serializer[Any]):
    """Parts on the car: all of them are kept, or none."""

    parts = serializers.ListField(child=PartSaidSerializer(), min_length=1, max_length=15)


def _run(request: Request, pk: UUID) -> Run:
    return read_or_404(asking(request), Run.objects.select_related("team__club"), pk)


class RunReadings(APIView):
    """Hot pressures and roll-outs after a run."""

    @extend_schema(responses=AfterRunSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """The four tyres, and the readings that stand."""
        return _after(_run(request, pk))

    @extend_schema(
        request=ReadAfterListSerializer, responses={200: AfterRunSerializer, 409: MEANWHILE}
    )
    def put(self, request: Request, pk: UUID) -> Response:
        """Writes what was read in these boxes; the others stay as they are."""
        run, by = _run(request, pk), asking(request)
        check_can_note_run(by, run)
        given = ReadAfterListSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        sent = [{**one, "take": 1, "taken_at": None} for one in given.validated_data["readings"]]
        boxes = [Key(one["measure"], one["spot"]) for one in sent]
        if len(set(boxes)) < len(boxes):
            raise Invalid("readings", "Send each box once.")
        typed = entries_of([one for one in sent if one["typed"].strip()], by.units(_units(run)))
        read = {entry.key: entry.quantity for entry in typed}
        standing = {key: row.pk for key, row in (_read(run).readings).items()}
        seen = {
            key: standing.get(key) if _over_anything(one) else one["seen"]
            for key, one in zip(boxes, sent, strict=True)
        }
        readings = {key: read.get(key) for key in boxes}
        note_run_readings(by=by, run=run, readings=readings, expected=seen)
        return _after(run)


def _over_anything(one: dict[str, Any]) -> bool:
    return one.get("seen", OVER_ANYTHING) is OVER_ANYTHING


def _units(run: Run) -> Any:
    return run.team.club.units()


def _read(run: Run) -> AfterRun:
    return after_run(run) or AfterRun([], {})


def _after(run: Run) -> Response:
    after = _read(run)
    shown = {"tyres": after.tyres, "readings": list(after.readings.values())}
    return Response(AfterRunSerializer(shown).data)


class RunParts(APIView):
    """The team's parts that were on in a run, for those who may see its codes."""

    @extend_schema(responses=PartInRunSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """Every sort at every corner."""
        run = _run(request, pk)
        check_can_see_parts(asking(request), run.team)
        return _parts(run)

    @extend_schema(
        request=PartsSaidSerializer,
        responses={200: PartInRunSerializer(many=True), 409: MEANWHILE},
    )
    def put(self, request: Request, pk: UUID) -> Response:
        """Says which parts were on, where the sheet does not say it rightly; the sheet stays."""
        run, by = _run(request, pk), asking(request)
        check_can_note_run_parts(by, run)
        given = PartsSaidSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        with transaction.atomic():
            for one in given.validated_data["parts"]:
                seen = one.pop("seen", OVER_ANYTHING)
                note_run_part(by=by, run=run, expected=seen, **one)
        return _parts(run)


def _parts(run: Run) -> Response:
    return Response(PartInRunSerializer(parts_in(run), many=True).data)
