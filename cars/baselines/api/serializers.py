"""Chassis, baselines, cars, parts and ballast as JSON."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.api_base import QuantitySerializer, perhaps, quantity_json, words
from cars.models import BallastMount, Baseline, BaselineValue, Car, Chassis, Measure, Spot
from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from teams.api.serializers import row
from teams.models import Club, RaceClass, Surface

# Named here so that the schema can name them.
BASELINE_STATES = Baseline.State.choices
BASELINE_SOURCES = BaselineValue.Source.choices


class ChassisSerializer(serializers.ModelSerializer[Chassis]):
    """A make and model of chassis."""

    geometry = serializers.JSONField(
        required=False, help_text="Empty, or whole: mm and N/mm, corners in the order LF RF LR RR."
    )

    class Meta:
        model = Chassis
        fields = ("id", "club", "name", "geometry", "note")
        read_only_fields = ("id", "club")


class ChassisCreateSerializer(CreateOnceSerializer):
    """A new chassis."""

    club = row(Club)
    name = serializers.CharField(max_length=60)
    geometry = serializers.JSONField(required=False, default=dict)
    note = words()


class MountSerializer(serializers.ModelSerializer[BallastMount]):
    """A place for ballast on a chassis."""

    x = TypedQuantity(kind=Kind.LENGTH, typed_from="typed.x", read_only=True)
    y = TypedQuantity(kind=Kind.LENGTH, typed_from="typed.y", read_only=True)
    capacity = TypedQuantity(kind=Kind.MASS, typed_from="typed.capacity", read_only=True)

    class Meta:
        model = BallastMount
        fields = ("id", "chassis", "name", "x", "y", "capacity")


class MountCreateSerializer(CreateOnceSerializer):
    """A new mount."""

    chassis = row(Chassis)
    name = serializers.CharField(max_length=40)
    x = TypedQuantity(kind=Kind.LENGTH, limits=bounds.ALONG_THE_CAR)
    y = TypedQuantity(kind=Kind.LENGTH, limits=bounds.ACROSS_THE_CAR)
    capacity = TypedQuantity(kind=Kind.MASS, limits=bounds.CAPACITY)


class BaselineSerializer(serializers.ModelSerializer[Baseline]):
    """A version of a baseline."""

    class Meta:
        model = Baseline
        fields = (
            *("id", "chassis", "surface", "race_class", "version", "state", "note"),
            *("published_at", "created_at"),
        )


class BaselineCreateSerializer(CreateOnceSerializer):
    """A new draft."""

    chassis = row(Chassis)
    surface = serializers.ChoiceField(Surface.choices)
    race_class = perhaps(RaceClass)
    note = words()


class CopySerializer(serializers.Serializer[Any]):
    """A copy of a baseline as the next draft."""

    id = serializers.UUIDField(required=False)
    note = words()


class BaselineValueSerializer(serializers.ModelSerializer[BaselineValue]):
    """One target."""

    target = serializers.SerializerMethodField()
    tolerance = serializers.SerializerMethodField()

    class Meta:
        model = BaselineValue
        fields = ("measure", "spot", "target", "tolerance", "source", "source_note", "where")

    @extend_schema_field(QuantitySerializer)
    def get_target(self, value: BaselineValue) -> dict[str, str] | None:
        """The figure wanted."""
        return quantity_json(value.target, value.measure.kind, value.target_typed)

    @extend_schema_field(QuantitySerializer)
    def get_tolerance(self, value: BaselineValue) -> dict[str, str] | None:
        """How far off is still on target."""
        return quantity_json(value.tolerance, value.measure.kind, value.tolerance_typed)


class TargetSerializer(serializers.Serializer[Any]):
    """One target to set."""

    measure = row(Measure)
    spot = serializers.ChoiceField(Spot.choices)
    target = serializers.CharField(max_length=40, help_text="As typed: 46 5/16, 11 psi.")
    tolerance = serializers.CharField(max_length=40)
    source = serializers.ChoiceField(BaselineValue.Source.choices)  # type: ignore[assignment]
    source_note = words(120)
    where = words(200)


class CarSerializer(serializers.ModelSerializer[Car]):
    """A car."""

    class Meta:
        model = Car
        fields = ("id", "team", "number", "name", "chassis", "race_class", "baseline")
