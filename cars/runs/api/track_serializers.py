"""What is changed and read at the track, and the car as it stands, as JSON."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.api_base import SPOTS_HELP, QuantitySerializer, quantity_json
from cars.models import Spot, TrackChange, TrackReading
from cars.sheets.api.serializers import ChangeFieldsSerializer
from clubsetup.access.api.creating import CreateOnceSerializer

BOX_HELP = "As in ride-height.LF, cross.car."
U_HELP = "Standard uncertainty, canonical."


class TrackChangeSerializer(serializers.ModelSerializer[TrackChange]):
    """Something turned, moved or swapped between two runs."""

    class Meta:
        model = TrackChange
        fields: tuple[str, ...] = (
            *("id", "sheet", "adjuster", "spot", "amount", "unit", "by", "made_at", "puts_back"),
            *("taken_back_at", "taken_back_by"),
        )
        extra_kwargs = {
            "puts_back": {"help_text": "The change that this one turned back the other way."},
            "taken_back_at": {"help_text": "It was never made."},
        }


class TrackChangeCreateSerializer(CreateOnceSerializer, ChangeFieldsSerializer):
    """A change to note."""

    made_at = serializers.DateTimeField(
        required=False, allow_null=True, default=None, help_text="If not now."
    )


class PutBackSerializer(serializers.Serializer[Any]):
    """What to put back."""

    changes = serializers.ListField(
        child=serializers.UUIDField(),
        required=False,
        allow_null=True,
        allow_empty=False,
        default=None,
        max_length=200,
        help_text="Changes that stand; left out or null: all of them.",
    )


class TrackReadingSerializer(serializers.ModelSerializer[TrackReading]):
    """A figure read off the car at the track. What stands of a box is the newest."""

    quantity = serializers.SerializerMethodField()

    class Meta:
        model = TrackReading
        fields = (
            *("id", "sheet", "measure", "spot", "quantity", "typed", "unit", "resolution"),
            *("taken_at", "by", "replaced_at", "replaced_by"),
        )

    @extend_schema_field(QuantitySerializer)
    def get_quantity(self, reading: TrackReading) -> dict[str, str] | None:
        """The figure."""
        return quantity_json(reading.value, reading.measure.kind, reading.typed)


class TrackEntrySerializer(serializers.Serializer[Any]):
    """One figure read."""

    id = serializers.UUIDField(
        required=False, help_text="Made by the client (a UUID, version 7), for all or for none."
    )
    measure = serializers.SlugField(max_length=40)
    spot = serializers.ChoiceField(Spot.choices, help_text=SPOTS_HELP)
    typed = serializers.CharField(max_length=40, help_text="As people say it: 46 5/16, 11 psi.")


class TrackEntriesSerializer(serializers.Serializer[Any]):
    """What was read again between two runs: all of it is kept, or nothing."""

    readings = serializers.ListField(child=TrackEntrySerializer(), min_length=1, max_length=60)
    taken_at = serializers.DateTimeField(
        required=False, allow_null=True, default=None, help_text="If not now."
    )


class ChangeNowSerializer(TrackChangeSerializer):
    """A change since the sheet as set."""

    stands = serializers.BooleanField(help_text="It was not put back, and puts nothing back.")

    class Meta(TrackChangeSerializer.Meta):
        fields = (*TrackChangeSerializer.Meta.fields, "stands")


class FigureNowSerializer(serializers.Serializer[Any]):
    """A figure that was read again at the track, or is computed from such."""

    box = serializers.CharField(help_text=BOX_HELP)
    quantity = QuantitySerializer(help_text="`typed` is empty.")
    u = serializers.CharField(help_text=U_HELP)


class ExpectedSerializer(FigureNowSerializer):
    """A figure as it is expected to read now, after what was changed. Not a reading."""

    was = QuantitySerializer(help_text="What it was worked out from. `typed` is empty.")


class CarNowSerializer(serializers.Serializer[Any]):
    """The car as it stands: the sheet as set, what was changed since, and what that comes to."""

    sheet = serializers.UUIDField(
        allow_null=True, help_text="Null where no sheet says how the car was set: nothing is known."
    )
    changes = ChangeNowSerializer(many=True, help_text="In the order they were made.")
    expected = ExpectedSerializer(many=True)
    read = FigureNowSerializer(many=True, help_text="Read again since the changes that touch it.")
    due = serializers.ListField(
        child=serializers.CharField(), help_text="Boxes that nothing but reading them will tell."
    )
    trouble = serializers.CharField(help_text="Why not more can be predicted; empty where it can.")
