"""A team's own targets, newer baselines and what teams run, as JSON."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.api_base import SPOTS_HELP, QuantitySerializer, quantity_json, words
from cars.baselines.presenters.fleet_spread import ReviewLine
from cars.models import Baseline, Car, Measure, OwnTarget, Spot
from clubsetup.access.api.creating import CreateOnceSerializer
from teams.api.serializers import row
from teams.models import Surface

SURFACE_HELP = "Empty: on whichever surface."


class OwnTargetSerializer(serializers.ModelSerializer[OwnTarget]):
    """A team's own target for a box of a car; one that has been replaced says when and by whom."""

    target = serializers.SerializerMethodField()
    tolerance = serializers.SerializerMethodField()

    class Meta:
        model = OwnTarget
        fields = (
            *("id", "car", "team", "surface", "measure", "spot", "target", "tolerance", "reason"),
            *("version", "by", "created_at", "replaced_at", "replaced_by"),
        )
        extra_kwargs = {"surface": {"help_text": SURFACE_HELP}}

    @extend_schema_field(QuantitySerializer)
    def get_target(self, own_target: OwnTarget) -> dict[str, str] | None:
        """The figure to come to."""
        kind = own_target.measure.kind
        return quantity_json(own_target.target, kind, own_target.target_typed)

    @extend_schema_field(QuantitySerializer)
    def get_tolerance(self, own_target: OwnTarget) -> dict[str, str] | None:
        """How far off is still on target."""
        kind = own_target.measure.kind
        return quantity_json(own_target.tolerance, kind, own_target.tolerance_typed)


class OwnTargetCreateSerializer(CreateOnceSerializer):
    """The team's own target, and why. It replaces what stood for this box and surface."""

    car = row(Car)
    surface = serializers.ChoiceField(
        Surface.choices, required=False, allow_blank=True, default="", help_text=SURFACE_HELP
    )
    measure = row(Measure)
    spot = serializers.ChoiceField(Spot.choices, help_text=SPOTS_HELP)
    target = serializers.CharField(max_length=40, help_text="As people say it: 2 1/4, 11 psi.")
    tolerance = serializers.CharField(max_length=40)
    reason = serializers.CharField(max_length=200, help_text="What makes you depart.")


class WithdrawSerializer(serializers.Serializer[Any]):
    """Why the team goes by the baseline again; it stands in the team's trail."""

    reason = words(200)


class OwnTargetLineSerializer(serializers.Serializer[Any]):
    """A team's own target in the words of the person asking, beside the baseline's figure."""

    id = serializers.UUIDField(source="row.pk")
    measure = serializers.CharField(source="measure.pk")
    spot = serializers.CharField(source="row.spot")
    surface = serializers.CharField(source="row.surface", help_text=SURFACE_HELP)
    text = serializers.CharField(help_text="2 1/4 in ± 1/16 in")
    reason = serializers.CharField(source="row.reason")
    baseline = serializers.CharField(help_text="The baseline's figure; empty where it has none.")
    source = serializers.CharField(  # type: ignore[assignment]
        help_text="Whose that is: maker or club."
    )
    departs = serializers.BooleanField(help_text="From the maker's sheet, which comes first.")
    caution = serializers.CharField(help_text="What to say where it does.")


class ReplacedOwnTargetSerializer(serializers.Serializer[Any]):
    """One of the team's own targets before."""

    id = serializers.UUIDField(source="row.pk")
    measure = serializers.CharField(source="measure.pk")
    spot = serializers.CharField(source="row.spot")
    surface = serializers.CharField(source="row.surface", help_text=SURFACE_HELP)
    text = serializers.CharField()
    reason = serializers.CharField(source="row.reason")
    replaced_at = serializers.DateTimeField(source="row.replaced_at")


class CarOwnTargetsSerializer(serializers.Serializer[Any]):
    """All of the team's own targets for a car, in the order of authority: maker, club, team."""

    standing = serializers.SerializerMethodField()
    before = ReplacedOwnTargetSerializer(many=True)
    earlier = serializers.UUIDField(
        allow_null=True, help_text="Where there are more: `before` to ask for them with."
    )

    @extend_schema_field(OwnTargetLineSerializer(many=True))
    def get_standing(self, view: Any) -> Any:
        """Those for both surfaces first."""
        lines = [line for surface in view.surfaces for line in surface.lines]
        return OwnTargetLineSerializer(lines, many=True).data


class MoveToBaselineSerializer(serializers.Serializer[Any]):
    """The version to go by."""

    baseline = row(Baseline)


class ChangedSerializer(serializers.Serializer[Any]):
    """One target that is not what it was, in the units of the person asking."""

    measure = serializers.CharField(source="key.measure")
    spot = serializers.CharField(source="key.spot")
    was = serializers.CharField(help_text="Empty: it is new.")
    now = serializers.CharField(help_text="Empty: it was taken out.")


class NewerSerializer(serializers.Serializer[Any]):
    """The version in force of a baseline's line, and what changed up to it."""

    baseline = serializers.UUIDField(source="new.pk")
    version = serializers.IntegerField(source="new.version")
    note = serializers.CharField(source="new.note")
    published_at = serializers.DateTimeField(source="new.published_at")
    changes = ChangedSerializer(many=True)


class MaybeNewerSerializer(serializers.Serializer[Any]):
    """Whether a later version is in force."""

    newer = NewerSerializer(allow_null=True, help_text="Null where there is none.")


class ReviewLineSerializer(serializers.Serializer[Any]):
    """One box: its target, and what at least five teams run; nothing of fewer."""

    measure = serializers.CharField(source="measure.pk")
    spot = serializers.CharField(source="key.spot")
    target = serializers.SerializerMethodField()
    tolerance = serializers.SerializerMethodField()
    teams = serializers.IntegerField(help_text="How many; 0 where fewer than five.")
    median = serializers.SerializerMethodField()
    spread = serializers.SerializerMethodField()
    is_outside = serializers.BooleanField(help_text="The middle is outside target ± tolerance.")

    @extend_schema_field(QuantitySerializer(allow_null=True))
    def get_target(self, line: ReviewLine) -> dict[str, str] | None:
        """The baseline's."""
        return self._of(line, line.standard and line.standard.target, line.target)

    @extend_schema_field(QuantitySerializer(allow_null=True))
    def get_tolerance(self, line: ReviewLine) -> dict[str, str] | None:
        """The baseline's."""
        return self._of(line, line.standard and line.standard.tolerance, line.tolerance)

    @extend_schema_field(QuantitySerializer(allow_null=True))
    def get_median(self, line: ReviewLine) -> dict[str, str] | None:
        """The middle of the teams, rounded to two steps of the usual tool."""
        return self._of(line, line.run and line.run.median, line.median)

    @extend_schema_field(QuantitySerializer(allow_null=True))
    def get_spread(self, line: ReviewLine) -> dict[str, str] | None:
        """How wide the middle half of the teams lies, rounded so too, and never less."""
        return self._of(line, line.run and line.run.spread, line.spread)

    def _of(self, line: ReviewLine, value: Any, typed: str) -> dict[str, str] | None:
        return quantity_json(value, line.measure.kind, typed)
