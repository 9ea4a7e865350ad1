"""Chassis, baselines, cars, parts and ballast as JSON."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.api.base import QuantitySerializer, quantity_json
from cars.models import (
    BallastMount,
    BallastPiece,
    Baseline,
    BaselineValue,
    Car,
    Chassis,
    Measure,
    Part,
    PartCode,
    Spot,
    Step,
)
from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from teams.api.serializers import row
from teams.models import Club, RaceClass, Surface, Team

# Named here so that the schema can name them.
BASELINE_STATES = Baseline.State.choices


def perhaps(model: Any) -> Any:
    """A row the person asking can see, or none."""
    return serializers.PrimaryKeyRelatedField(
        queryset=model._default_manager.all(), required=False, allow_null=True, default=None
    )


def words(length: int = 2000) -> Any:
    """Text that may be left out."""
    return serializers.CharField(max_length=length, required=False, allow_blank=True, default="")


class StepSerializer(serializers.ModelSerializer[Step]):
    """A step of the order of work."""

    class Meta:
        model = Step
        fields = ("slug", "order", "name", "why_here", "caution", "makes_stale")


class MeasureSerializer(serializers.ModelSerializer[Measure]):
    """Something that is read off a car."""

    class Meta:
        model = Measure
        fields = (
            *("slug", "step", "order", "name", "taken", "kind", "spots", "where"),
            *("low", "high", "tool_resolution", "more_less"),
        )


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


class CarEditSerializer(serializers.Serializer[Any]):
    """What a car is, anew."""

    number = serializers.CharField(max_length=6)
    name = words(40)
    chassis = row(Chassis)
    race_class = perhaps(RaceClass)
    baseline = perhaps(Baseline)


class CarCreateSerializer(CreateOnceSerializer, CarEditSerializer):
    """A new car."""

    team = row(Team)
    since = serializers.DateField(required=False, allow_null=True, default=None)


class PartCodeSerializer(serializers.ModelSerializer[PartCode]):
    """The team's own mark on a part."""

    class Meta:
        model = PartCode
        fields = ("code", "note")


class PartSerializer(serializers.ModelSerializer[Part]):
    """A spring, damper or tyre; seen by the team and by a coach whom it lets see its marks."""

    code = PartCodeSerializer(read_only=True, allow_null=True)
    rate = TypedQuantity(
        kind=Kind.SPRING_RATE, typed_from="rate_typed", read_only=True, allow_null=True
    )

    class Meta:
        model = Part
        fields = ("id", "team", "sort", "rate", "code")


class PartCreateSerializer(CreateOnceSerializer):
    """A new part."""

    team = row(Team)
    sort = serializers.ChoiceField(Part.Sort.choices)
    code = words(40)
    note = words()
    rate = TypedQuantity(
        kind=Kind.SPRING_RATE,
        limits=bounds.SPRING_RATE,
        required=False,
        allow_null=True,
        default=None,
    )


class PieceSerializer(serializers.ModelSerializer[BallastPiece]):
    """A ballast piece."""

    marked_mass = TypedQuantity(kind=Kind.MASS, typed_from="marked_mass_typed", read_only=True)

    class Meta:
        model = BallastPiece
        fields = ("id", "team", "label", "marked_mass", "car", "mount", "retired_at")


class PlaceSerializer(serializers.Serializer[Any]):
    """Where a ballast piece is: on a car, at a mount; without a car, on the shelf."""

    car = perhaps(Car)
    mount = perhaps(BallastMount)


class PieceCreateSerializer(CreateOnceSerializer, PlaceSerializer):
    """A new ballast piece."""

    team = row(Team)
    label = serializers.CharField(max_length=40)  # type: ignore[assignment]
    marked_mass = TypedQuantity(kind=Kind.MASS, limits=bounds.PIECE)
