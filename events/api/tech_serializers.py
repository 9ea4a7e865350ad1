"""Official records as JSON."""

from typing import Any

from rest_framework import serializers

from cars.models import BallastPiece, Measure, Spot
from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.access.models import User
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from events.api.serializers import row
from events.models import BallastCheck, Entry, Finding, ScaleSet, TechReading, Void, WeighIn
from events.queries.states import State
from events.records.api.base import RECORD

ENTRY_STATES = [(s.value, s.words) for s in State]


class FindingSerializer(serializers.ModelSerializer[Finding]):
    """What one rule says of one entry; those of the entry's newest batch stand."""

    evidence = serializers.DictField(child=serializers.JSONField(), read_only=True)
    created_at = serializers.DateTimeField(
        read_only=True, allow_null=True, help_text="None of what is worked out and kept nowhere."
    )
    by = serializers.PrimaryKeyRelatedField[User](
        read_only=True, allow_null=True, help_text="None of what is worked out and kept nowhere."
    )

    class Meta:
        model = Finding
        fields = (
            *RECORD,
            "batch",
            "rule",
            "weigh_in",
            "outcome",
            "rule_words",
            "sentence",
            "evidence",
        )


class WeighInSerializer(serializers.ModelSerializer[WeighIn]):
    """One weighing, with what was found on it."""

    lf = TypedQuantity(kind=Kind.MASS, typed_from="typed.LF", allow_null=True, read_only=True)
    rf = TypedQuantity(kind=Kind.MASS, typed_from="typed.RF", allow_null=True, read_only=True)
    lr = TypedQuantity(kind=Kind.MASS, typed_from="typed.LR", allow_null=True, read_only=True)
    rr = TypedQuantity(kind=Kind.MASS, typed_from="typed.RR", allow_null=True, read_only=True)
    total = TypedQuantity(kind=Kind.MASS, typed_from="total_typed", read_only=True)
    typed = serializers.DictField(child=serializers.CharField(), help_text="By spot, or 'car'.")
    corrections = serializers.DictField(
        child=serializers.CharField(), help_text="What the scale check says to add, kg, by pad."
    )
    stage_text = serializers.SerializerMethodField(help_text="before the race, after the race")
    is_void = serializers.SerializerMethodField()
    findings = FindingSerializer(many=True, read_only=True)

    class Meta:
        model = WeighIn
        fields = (
            *RECORD,
            "stage",
            "stage_text",
            "scale_set",
            "driver_in",
            "again",
            "tank_empty",
            "fuel_note",
            "lf",
            "rf",
            "lr",
            "rr",
            "total",
            "typed",
            "u_total",
            "scatter",
            "scatter_dof",
            "scale_check",
            "corrections",
            "u_correction",
            "corrected",
            "is_void",
            "findings",
        )

    def get_stage_text(self, weigh_in: WeighIn) -> str:
        """As pages say it."""
        return weigh_in.get_stage_display().lower()

    def get_is_void(self, weigh_in: WeighIn) -> bool:
        """Taken out of force."""
        return hasattr(weigh_in, "void")


class PadsSerializer(serializers.Serializer[Any]):
    """Four pads as typed."""

    LF = TypedQuantity(kind=Kind.MASS, limits=bounds.PAD)
    RF = TypedQuantity(kind=Kind.MASS, limits=bounds.PAD)
    LR = TypedQuantity(kind=Kind.MASS, limits=bounds.PAD)
    RR = TypedQuantity(kind=Kind.MASS, limits=bounds.PAD)


class WeighInCreateSerializer(CreateOnceSerializer):
    """A weighing: four pads or a total."""

    entry = row(Entry)
    scale_set = row(ScaleSet)
    stage = serializers.ChoiceField(WeighIn.Stage.choices)
    driver_in = serializers.BooleanField()
    pads = PadsSerializer(required=False, allow_null=True, default=None)
    total = TypedQuantity(
        kind=Kind.MASS, limits=bounds.CAR, required=False, allow_null=True, default=None
    )
    tank_empty = serializers.BooleanField(default=False)
    fuel_note = serializers.CharField(max_length=40, required=False, allow_blank=True, default="")
    again = serializers.BooleanField(default=False)
    device_at = serializers.DateTimeField(required=False, allow_null=True, default=None)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Pads or a total, not both."""
        if attrs["pads"] and attrs["total"]:
            raise serializers.ValidationError({"total": "Give the four pads or a total, not both."})
        return attrs


class BallastCheckSerializer(serializers.ModelSerializer[BallastCheck]):
    """One look at one piece, or that it is not on the car, or that none is."""

    marked_mass = TypedQuantity(
        kind=Kind.MASS, typed_from="marked_typed", allow_null=True, read_only=True
    )
    weighed_mass = TypedQuantity(
        kind=Kind.MASS, typed_from="weighed_typed", allow_null=True, read_only=True
    )
    is_void = serializers.SerializerMethodField()

    class Meta:
        model = BallastCheck
        fields = (
            *RECORD,
            "none_on_car",
            "not_on_car",
            "look",
            "reason",
            "when_weighed",
            "piece",
            "label_legible",
            "label",
            "marked_mass",
            "weighed_mass",
            "place",
            "fixed",
            "photos",
            "is_void",
        )
        read_only_fields = ("photos",)

    def get_is_void(self, check: BallastCheck) -> bool:
        """Taken out of force."""
        return hasattr(check, "void")


class BallastCheckCreateSerializer(CreateOnceSerializer):
    """One look; with `none_on_car` the official looked and there was none.

    With `not_on_car` the piece (`piece`, or that of an earlier `look`) is not on the car, for the
    `reason` given. `none_on_car` is refused while a piece stands as on the car. `when_weighed`: of
    a piece that nobody knew of when the car was weighed, whether it was on it then.
    """

    entry = row(Entry)
    none_on_car = serializers.BooleanField(default=False)
    not_on_car = serializers.BooleanField(default=False)
    look = serializers.PrimaryKeyRelatedField(
        queryset=BallastCheck.objects.all(), required=False, allow_null=True, default=None
    )
    reason = serializers.CharField(max_length=200, required=False, allow_blank=True, default="")
    when_weighed = serializers.ChoiceField(
        BallastCheck.WhenWeighed.choices, required=False, allow_blank=True, default=""
    )
    piece = serializers.PrimaryKeyRelatedField(
        queryset=BallastPiece.objects.all(), required=False, allow_null=True, default=None
    )
    label_legible = serializers.BooleanField(required=False)
    label = serializers.CharField(  # type: ignore[assignment]
        max_length=40, required=False, allow_blank=True, default=""
    )
    marked_mass = TypedQuantity(
        kind=Kind.MASS, limits=bounds.PIECE, required=False, allow_null=True, default=None
    )
    weighed_mass = TypedQuantity(
        kind=Kind.MASS, limits=bounds.PIECE, required=False, allow_null=True, default=None
    )
    place = serializers.CharField(max_length=60, required=False, allow_blank=True, default="")
    fixed = serializers.BooleanField(required=False)
    device_at = serializers.DateTimeField(required=False, allow_null=True, default=None)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """A piece is legible or not and fixed or not: neither is taken for granted."""
        if attrs["none_on_car"] and attrs["not_on_car"]:
            raise serializers.ValidationError({"not_on_car": "Say one of them: none, or not this."})
        if not attrs["not_on_car"]:
            given = [field for field in ("look", "reason") if attrs[field]]
            if given:
                says = "This goes with a piece that is not on the car."
                raise serializers.ValidationError(dict.fromkeys(given, says))
        missing = [f for f in ("label_legible", "fixed") if f not in attrs]
        if missing and not (attrs["none_on_car"] or attrs["not_on_car"]):
            raise serializers.ValidationError(dict.fromkeys(missing, "Say yes or no."))
        return attrs


class TechReadingSerializer(serializers.ModelSerializer[TechReading]):
    """One length on the car."""

    value = TypedQuantity(kind=Kind.LENGTH, typed_from="typed", read_only=True)
    is_void = serializers.SerializerMethodField()

    class Meta:
        model = TechReading
        fields = (*RECORD, "measure", "spot", "value", "resolution", "is_void")

    def get_is_void(self, reading: TechReading) -> bool:
        """Taken out of force."""
        return hasattr(reading, "void")


class TechReadingCreateSerializer(CreateOnceSerializer):
    """A length at one spot."""

    entry = row(Entry)
    measure = row(Measure)
    spot = serializers.ChoiceField(Spot.choices)
    length = TypedQuantity(kind=Kind.LENGTH, limits=bounds.LENGTH_ON_A_CAR)
    device_at = serializers.DateTimeField(required=False, allow_null=True, default=None)


class VoidSerializer(serializers.ModelSerializer[Void]):
    """Takes one record out of force."""

    class Meta:
        model = Void
        fields = (*RECORD, "weigh_in", "ballast_check", "tech_reading", "reason")


class VoidCreateSerializer(CreateOnceSerializer):
    """Of a weigh-in, a ballast check or a length measured, with the reason."""

    weigh_in = serializers.PrimaryKeyRelatedField(
        queryset=WeighIn.objects.select_related("entry__event", "club"), required=False
    )
    ballast_check = serializers.PrimaryKeyRelatedField(
        queryset=BallastCheck.objects.select_related("entry__event", "club"), required=False
    )
    tech_reading = serializers.PrimaryKeyRelatedField(
        queryset=TechReading.objects.select_related("entry__event", "club"), required=False
    )
    reason = serializers.CharField(max_length=200)
    device_at = serializers.DateTimeField(required=False, allow_null=True, default=None)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Just one record."""
        if len({"weigh_in", "ballast_check", "tech_reading"} & attrs.keys()) != 1:
            raise serializers.ValidationError("Give just one record to void.")
        return attrs


class DeskRowSerializer(serializers.Serializer[Any]):
    """One entry in the queue and where it stands."""

    entry = serializers.UUIDField(source="entry.pk")
    race_class = serializers.CharField(source="entry.event_class.race_class.name")
    number = serializers.CharField(source="entry.number")
    display_name = serializers.CharField(source="entry.display_name")
    team_name = serializers.CharField()
    state = serializers.ChoiceField(ENTRY_STATES)
    sentence = serializers.CharField(source="worst.sentence", default="")
