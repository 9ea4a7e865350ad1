"""Parts, and parts on a car, as JSON."""

from typing import Any

from rest_framework import serializers

from cars.models import Part, PartCode
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity

PART_SPOTS = [(spot, spot) for spot in dict.fromkeys(spot for _, spot in Part.Sort.places())]


class PartCodeSerializer(serializers.ModelSerializer[PartCode]):
    """The team's own code of a part."""

    class Meta:
        model = PartCode
        fields = ("code", "note")


class PartSerializer(serializers.ModelSerializer[Part]):
    """A part; seen by the team and by a coach whom it lets see its codes."""

    code = PartCodeSerializer(read_only=True, allow_null=True)
    rate = TypedQuantity(
        kind=Kind.SPRING_RATE, typed_from="rate_typed", read_only=True, allow_null=True
    )

    class Meta:
        model = Part
        fields = ("id", "team", "sort", "rate", "code")


class FittedPlaceSerializer(serializers.Serializer[Any]):
    """One sort of part at one spot; chain, engine and sprocket are at `car`."""

    sort = serializers.ChoiceField(Part.Sort.choices)
    spot = serializers.ChoiceField(PART_SPOTS)
    part = PartSerializer(source="fitted", allow_null=True)
    differs = serializers.CharField(
        help_text="How the rate on the sheet differs from the part's; a rate typed by hand wins."
    )


class FitSerializer(serializers.Serializer[Any]):
    """A part to put on the car, or none."""

    sort = serializers.ChoiceField(Part.Sort.choices)
    spot = serializers.ChoiceField(PART_SPOTS)
    part = serializers.PrimaryKeyRelatedField(
        queryset=Part.objects.all(),
        allow_null=True,
        help_text="One of the team's, of this sort; null: none of the team's is there.",
    )
    seen = serializers.UUIDField(
        required=False,
        allow_null=True,
        help_text="The part that you saw there, null for none: refused where another is by now.",
    )


class FitsSerializer(serializers.Serializer[Any]):
    """Parts to put on the car: all of them, or none where one cannot be."""

    parts = serializers.ListField(child=FitSerializer(), min_length=1, max_length=15)
