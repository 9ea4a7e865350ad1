"""The pre-check as JSON. Masses kg, shares percent, risks from 0 to 1, `u` standard uncertainty."""

from typing import Any
from uuid import UUID

from rest_framework import serializers

from clubsetup.access.errors import Invalid
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityLimits
from clubsetup.site.api_fields import TypedQuantity
from events.precheck.presenters.precheck import PrecheckOfCar
from events.precheck.queries import precheck_params as asking
from events.precheck.queries.precheck_params import USUAL, just_read
from events.rules import Outcome


def _typed(kind: Kind, limits: QuantityLimits) -> TypedQuantity:
    return TypedQuantity(
        kind=kind, limits=limits, required=False, default=None, help_text="As typed: `83.5 lb`."
    )


def _between(name: str, limits: QuantityLimits, help_text: str) -> TypedQuantity:
    usual = f"{help_text} {USUAL[name]} where left out: common practice, no source."
    return TypedQuantity(kind=Kind.MASS, limits=limits, required=False, help_text=usual)


def _count(name: str, least: int, most: int, help_text: str) -> serializers.IntegerField:
    usual = f"{help_text} {USUAL[name]} where left out."
    return serializers.IntegerField(
        min_value=least, max_value=most, required=False, help_text=usual
    )


class PrecheckAskedSerializer(serializers.Serializer[Any]):
    """Readings of one's own, four pads or a total, or none for the newest sheet; and the race."""

    LF = _typed(Kind.MASS, bounds.PAD)
    RF = _typed(Kind.MASS, bounds.PAD)
    LR = _typed(Kind.MASS, bounds.PAD)
    RR = _typed(Kind.MASS, bounds.PAD)
    total = _typed(Kind.MASS, asking.TOTAL)
    driver_in = serializers.BooleanField(required=False, default=True)
    fuel = _typed(Kind.VOLUME, asking.FUEL)
    laps = _count("laps", 0, asking.MOST_LAPS, "Of the race.")
    burn = _between("burn", asking.BURN, "Fuel burnt a lap.")
    burn_known = _count("burn_known", 0, asking.PERCENT, "Known to about so many percent.")
    filled = _between("filled", asking.FILLED, "Fuel put in after the weighing.")
    scales_apart = _between("scales_apart", asking.APART, "The two scales differ by at most this.")
    risk = _count("risk", 1, asking.MOST_RISK, "The risk of light that is accepted, percent.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """The readings go together."""
        try:
            return {**attrs, "read": just_read(attrs, self.context["units"])}
        except Invalid as refusal:
            raise serializers.ValidationError({refusal.field: refusal.message}) from refusal


class EstimateSerializer(serializers.Serializer[Any]):
    """A figure and its standard uncertainty."""

    value = serializers.FloatField()
    u = serializers.FloatField()


class SaidSerializer(serializers.Serializer[Any]):
    """What a rule would say."""

    words = serializers.CharField()
    outcome = serializers.ChoiceField([one.value for one in Outcome], source="result.outcome")
    sentence = serializers.CharField(source="result.sentence")


class LightSerializer(serializers.Serializer[Any]):
    """What one minimum comes to at the official's scales."""

    words = serializers.CharField()
    minimum = serializers.FloatField(source="minimum.minimum")
    weight = EstimateSerializer()
    laps = serializers.IntegerField()
    risk = serializers.FloatField(help_text="Of being light, as the car is now.")
    add = serializers.FloatField(help_text="To come down to the risk that is accepted.")
    risk_then = serializers.FloatField()
    text = serializers.CharField(help_text="'Add 1.4 lb before the race: 2.9 % risk of light ...'")


class HandledSerializer(serializers.Serializer[Any]):
    """A piece and the mount it goes to; none: it comes off."""

    piece = serializers.UUIDField()
    mount = serializers.UUIDField(allow_null=True)


class SharesSerializer(serializers.Serializer[Any]):
    """Left side, rear and cross as the team's own scales should read them next."""

    left = EstimateSerializer()
    rear = EstimateSerializer()
    cross = EstimateSerializer()


class PlannedSerializer(serializers.Serializer[Any]):
    """One plan for the team's pieces."""

    heading = serializers.CharField()
    reaches = serializers.BooleanField(source="card.is_legal")
    todo = serializers.ListField(child=serializers.CharField(), source="card.todo")
    handled = HandledSerializer(many=True)
    weight = EstimateSerializer(help_text="At the official's scales.")
    risk = serializers.FloatField(source="plan.under")
    shares = SharesSerializer(allow_null=True)
    rules = SaidSerializer(many=True, help_text="Those that would say otherwise than now.")
    to_mark = serializers.ListField(child=serializers.CharField())


class BallastSerializer(serializers.Serializer[Any]):
    """The plans, best first, and what they leave open."""

    words = serializers.ListField(child=serializers.CharField(), help_text="To be acted upon.")
    notes = serializers.ListField(child=serializers.CharField())
    missing = serializers.ListField(
        child=serializers.CharField(), help_text="Why there is no plan."
    )
    short = serializers.FloatField(help_text="What no combination of the pieces reaches.")
    plans = PlannedSerializer(many=True)


class PrecheckSerializer(serializers.Serializer[Any]):
    """The whole answer for one car, or what has to be there first."""

    missing = serializers.ListField(child=serializers.CharField())
    rule_set = serializers.UUIDField(source="rule_set.pk", default=None, allow_null=True)
    entry = serializers.UUIDField(
        source="precheck.entry.pk",
        default=None,
        allow_null=True,
        help_text="The entry whose event froze the rules.",
    )
    sheet = serializers.SerializerMethodField(
        help_text="The sheet the weights are from; none where they were sent."
    )
    driver_in = serializers.BooleanField(source="scales.driver_in", default=None, allow_null=True)
    weight = EstimateSerializer(source="scales.weight", default=None, allow_null=True)
    lights = LightSerializer(many=True, source="precheck.lights", default=list)
    others = SaidSerializer(many=True, source="precheck.others", default=list)
    cautions = serializers.ListField(
        child=serializers.CharField(), source="precheck.cautions", default=list
    )
    ballast = BallastSerializer(source="precheck.ballast", default=None, allow_null=True)

    def get_sheet(self, of_car: PrecheckOfCar) -> UUID | None:
        """Not that of readings which are on none."""
        scales = of_car.scales
        return None if scales is None or scales.typed else scales.on_sheet.sheet.pk
