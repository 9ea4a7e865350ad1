"""Sheets, readings, changes and comments as JSON."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.api_base import SPOTS_HELP, QuantitySerializer, perhaps, quantity_json, words
from cars.models import Baseline, Car, Change, Comment, Reading, Sheet, Spot
from cars.sheets.api.seen import SeenReadingField
from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from teams.api.serializers import row
from teams.models import Driver, Surface, Track

# Named here so that the schema can name them.
SHEET_STATES = Sheet.State.choices
SHEET_ROLES = Sheet.Role.choices


class SheetSerializer(serializers.ModelSerializer[Sheet]):
    """A sheet's head."""

    fuel = TypedQuantity(kind=Kind.VOLUME, typed_from="fuel_typed", read_only=True, allow_null=True)

    class Meta:
        model = Sheet
        fields = (
            *("id", "car", "team", "role", "state", "made_on", "driver", "track", "surface"),
            *(
                "baseline",
                "based_on",
                "fuel",
                "fuel_carried",
                "note",
                "opened_by",
                "closed_at",
                "closed_by",
            ),
            *("version", "corrects", "reason", "created_at"),
        )


class HeadSerializer(serializers.Serializer[Any]):
    """What stands at the head of an open sheet."""

    made_on = serializers.DateField()
    surface = serializers.ChoiceField(
        Surface.choices, required=False, allow_blank=True, default="", help_text="Or the track's."
    )
    driver = perhaps(Driver)
    track = perhaps(Track)
    baseline = perhaps(Baseline)
    fuel = TypedQuantity(
        kind=Kind.VOLUME, limits=bounds.FUEL, required=False, allow_null=True, default=None
    )
    note = words()


class SheetCreateSerializer(CreateOnceSerializer, HeadSerializer):
    """A new sheet: from nothing, from a baseline, or from an earlier sheet."""

    car = row(Car)
    role = serializers.ChoiceField(Sheet.Role.choices)
    made_on = serializers.DateField(required=False, allow_null=True, default=None)
    based_on = perhaps(Sheet)
    with_readings = serializers.BooleanField(default=False)


class CloseSerializer(serializers.Serializer[Any]):
    """A sheet to close."""

    again = serializers.ListField(
        child=serializers.CharField(max_length=60),
        default=list,
        help_text="Boxes to be taken again that stay as they are, as in weight.LF.",
    )


class CorrectSerializer(serializers.Serializer[Any]):
    """Why a closed sheet is corrected."""

    id = serializers.UUIDField(required=False, help_text="The new version's id.")
    reason = serializers.CharField(max_length=200)


class ReadingSerializer(serializers.ModelSerializer[Reading]):
    """One reading; one that has been replaced says when and by whom."""

    quantity = serializers.SerializerMethodField()

    class Meta:
        model = Reading
        fields = (
            *("id", "sheet", "measure", "spot", "take", "quantity", "typed", "unit"),
            *("resolution", "by", "taken_at", "carried_from", "replaced_at", "replaced_by"),
        )

    @extend_schema_field(QuantitySerializer(allow_null=True))
    def get_quantity(self, reading: Reading) -> dict[str, str] | None:
        """The figure; null for words and checks."""
        return quantity_json(reading.value, reading.measure.kind, reading.typed)


class BoxEntrySerializer(serializers.Serializer[Any]):
    """One reading to keep. Empty text empties the box."""

    id = serializers.UUIDField(required=False)
    seen = SeenReadingField(
        allow_null=True,
        help_text="The id of the reading that you saw in this box, null for an empty one: refused "
        "where another stands there by now. `anything`: written over whatever stands there.",
    )
    measure = serializers.SlugField(max_length=40)
    spot = serializers.ChoiceField(Spot.choices, help_text=SPOTS_HELP)
    take = serializers.IntegerField(min_value=1, max_value=9, default=1)
    typed = serializers.CharField(
        max_length=200, allow_blank=True, help_text='As people say it: 46 5/16, 11 psi, "done".'
    )
    taken_at = serializers.DateTimeField(
        required=False, allow_null=True, default=None, help_text="When it was read, if not now."
    )


class BoxEntriesSerializer(serializers.Serializer[Any]):
    """Readings to keep: all of them, or none where one cannot be."""

    readings = BoxEntrySerializer(many=True, allow_empty=False)


class BoxSerializer(serializers.Serializer[Any]):
    """One box of a sheet as it stands: its figure, its target, and what the one is to the other."""

    measure = serializers.CharField(source="key.measure")
    spot = serializers.CharField(source="key.spot")
    shown = serializers.CharField(help_text="In the units of the person asking.")
    target = serializers.CharField()
    tolerance = serializers.CharField()
    reach = serializers.DecimalField(
        20, 10, allow_null=True, help_text="How far off the figure may be, canonical."
    )
    outcome = serializers.CharField(
        source="judgement.outcome",
        help_text="on target, off, too close to tell, not taken, no target, retake.",
    )
    carried = serializers.BooleanField(
        source="is_carried", help_text="Carried from the sheet before, or computed from such."
    )
    text = serializers.CharField(source="words")


class ChangeSerializer(serializers.ModelSerializer[Change]):
    """Something turned, moved or swapped."""

    class Meta:
        model = Change
        fields = (
            *("id", "sheet", "adjuster", "spot", "amount", "unit", "by", "made_at"),
            *("piece", "was_at", "now_at", "taken_back_at", "taken_back_by"),
        )


class ChangeFieldsSerializer(serializers.Serializer[Any]):
    """What was turned, moved or swapped, and by how much."""

    adjuster = serializers.SlugField(max_length=40)
    spot = serializers.ChoiceField(Spot.choices)
    amount = serializers.DecimalField(max_digits=12, decimal_places=4)
    unit = serializers.CharField(max_length=12)


class ChangeCreateSerializer(CreateOnceSerializer, ChangeFieldsSerializer):
    """A change to note."""

    sheet = row(Sheet)


class CommentSerializer(serializers.ModelSerializer[Comment]):
    """A remark on a sheet."""

    class Meta:
        model = Comment
        fields = ("id", "sheet", "by", "text", "created_at")


class CommentCreateSerializer(CreateOnceSerializer):
    """A remark to leave."""

    sheet = row(Sheet)
    text = serializers.CharField(max_length=2000)
