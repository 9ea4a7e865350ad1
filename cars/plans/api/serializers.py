"""How plans, predictions and what one turn does travel through the API."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from cars.mechanics.drift import Drift
from cars.models import CalibrationReset, Car, Plan, Sheet
from cars.plans.presenters.drift import drift_line
from cars.sheets.api.seen import SeenFiguresField
from clubsetup.access.api.creating import CreateOnceSerializer


class CornersSerializer(serializers.Serializer[Any]):
    """One figure for each corner."""

    LF = serializers.FloatField()
    RF = serializers.FloatField()
    LR = serializers.FloatField()
    RR = serializers.FloatField()


class JudgedSerializer(serializers.Serializer[Any]):
    """One figure against its target, canonical (shares in percent), as sheet and pages say it."""

    box = serializers.CharField(help_text="As in ride-height.LF, cross.car.")
    value = serializers.FloatField()
    reach = serializers.FloatField(
        help_text="How far off it may be: 95 % of what is computed; half a step of a figure that "
        "stands, where nothing is turned."
    )
    target = serializers.FloatField()
    tolerance = serializers.FloatField()
    outcome = serializers.CharField(help_text="on target, off, too close to tell.")
    text = serializers.CharField(help_text="off by 1/16 in, high")


class PredictionSerializer(serializers.Serializer[Any]):
    """What turns are predicted to give, with the standard uncertainty of the next readings.

    Weights kg, heights mm, cross, left and rear as fractions. Not a reading: weigh again.
    """

    turns = CornersSerializer()
    weights = CornersSerializer()
    u_weights = CornersSerializer()
    heights = CornersSerializer(allow_null=True)
    u_heights = CornersSerializer()
    cross = serializers.FloatField()
    u_cross = serializers.FloatField()
    left = serializers.FloatField()
    u_left = serializers.FloatField()
    rear = serializers.FloatField()
    u_rear = serializers.FloatField()
    judged = JudgedSerializer(many=True, help_text="Every figure that has a target.")
    lifted = serializers.ListField(child=serializers.CharField())
    beyond_thread = serializers.ListField(child=serializers.CharField())


class MoveSerializer(serializers.Serializer[Any]):
    """One handful of turns."""

    corner = serializers.CharField()
    turns = serializers.FloatField()


class TurnPlanSerializer(serializers.Serializer[Any]):
    """The best plan with at most so many corners turned."""

    most_corners = serializers.IntegerField()
    reached = serializers.BooleanField(help_text="Every target, for all that is known.")
    outcome = serializers.CharField(
        help_text="The worst of the targets: on target, too close to tell, off."
    )
    why_not = serializers.CharField(allow_blank=True)
    miss = serializers.FloatField(help_text="Sum of the squared misses, in tolerances.")
    order = MoveSerializer(many=True)
    prediction = PredictionSerializer()


class TurnPlansSerializer(serializers.Serializer[Any]):
    """All plans of a sheet, or what is missing for them."""

    missing = serializers.ListField(child=serializers.CharField())
    notes = serializers.ListField(child=serializers.CharField())
    target_source = serializers.CharField(allow_blank=True)
    seen = serializers.CharField(help_text="Send it with the plan that is accepted.")
    outcome = serializers.CharField(
        help_text="Of the targets, as read: on target, too close to tell, off, no target."
    )
    plans = TurnPlanSerializer(many=True)


class PlanSerializer(serializers.ModelSerializer[Plan]):
    """An accepted plan with what it was predicted to give: kg, mm and fractions."""

    turns = serializers.ListField(child=serializers.FloatField(), source="turns_as_floats")

    class Meta:
        model = Plan
        fields = (
            *("id", "sheet", "team", "by", "accepted_at", "turns", "started_from", "learned"),
            *("loads_before", "heights_before", "loads", "u_loads", "heights", "u_heights"),
            *("cross_before", "cross", "u_cross"),
        )


class TurnsSerializer(serializers.Serializer[Any]):
    """Turns at the four seats, plus winds down; a corner left out is not turned."""

    LF = serializers.DecimalField(8, 4, default=Decimal(0))
    RF = serializers.DecimalField(8, 4, default=Decimal(0))
    LR = serializers.DecimalField(8, 4, default=Decimal(0))
    RR = serializers.DecimalField(8, 4, default=Decimal(0))


class PlanAcceptSerializer(CreateOnceSerializer):
    """Turns that were made."""

    sheet = serializers.PrimaryKeyRelatedField(queryset=Sheet.objects.all())
    turns = TurnsSerializer()
    seen = SeenFiguresField()


class OneTurnSerializer(serializers.Serializer[Any]):
    """What one turn of a seat does to cross, percent, with standard uncertainties."""

    corner = serializers.CharField()
    cross = serializers.FloatField(help_text="As learned; as worked out where nothing is.")
    u_cross = serializers.FloatField()
    worked_out = serializers.FloatField(help_text="From the chassis page alone.")
    u_worked_out = serializers.FloatField()
    text = serializers.CharField()


class OutcomeSerializer(serializers.Serializer[Any]):
    """A plan against the next weighing."""

    plan = serializers.UUIDField()
    turns = CornersSerializer(help_text="The plan's, and later ones before the weighing.")
    predicted = CornersSerializer()
    weighed = CornersSerializer(allow_null=True)
    predicted_cross = serializers.FloatField()
    u_cross = serializers.FloatField()
    weighed_cross = serializers.FloatField(allow_null=True)
    learned = serializers.BooleanField()
    probability_good = serializers.FloatField(allow_null=True)


class CalibrationSerializer(serializers.Serializer[Any]):
    """What one turn does, as the scales have shown on this car."""

    words = serializers.CharField()
    learned = serializers.IntegerField()
    cross_within = serializers.FloatField(
        allow_null=True, help_text="Half the 95 % interval of one turn's change of cross, percent."
    )
    multipliers = serializers.DictField(
        child=serializers.FloatField(), help_text="Of the rates on the chassis page."
    )
    u_log = serializers.DictField(child=serializers.FloatField())
    one_turn = OneTurnSerializer(many=True, help_text="Before and after learning.")
    trouble = serializers.CharField(allow_blank=True)
    reset_at = serializers.DateTimeField(allow_null=True)
    reset_reason = serializers.CharField(allow_blank=True)
    outcomes = OutcomeSerializer(many=True, help_text="Twenty at most, the newest first.")
    earlier = serializers.UUIDField(
        allow_null=True, help_text="Where there are more: `before` to ask for them with."
    )


class CalibrationResetSerializer(serializers.ModelSerializer[CalibrationReset]):
    """From when on what the scales showed before is forgotten, and why."""

    class Meta:
        model = CalibrationReset
        fields = ("id", "car", "team", "by", "reason", "created_at")


class CalibrationResetCreateSerializer(CreateOnceSerializer):
    """Why what the scales showed so far is forgotten."""

    car = serializers.PrimaryKeyRelatedField(queryset=Car.objects.all())
    reason = serializers.CharField(max_length=200)


class DriftSerializer(serializers.Serializer[Any]):
    """What one place did since the car was set: canonical units, found minus set."""

    measure = serializers.CharField(source="place.measure")
    spot = serializers.CharField(source="place.spot")
    difference = serializers.FloatField()
    tolerance = serializers.FloatField()
    usual = serializers.FloatField(
        source="habit.middle", default=None, allow_null=True, help_text="Of the weekends before."
    )
    spread = serializers.FloatField(source="habit.spread", default=None, allow_null=True)
    weekends = serializers.IntegerField(source="habit.weekends", default=0)
    tells = serializers.FloatField(
        help_text="What two readings may differ by where nothing moved: 3 sqrt(2) u."
    )
    verdict = serializers.CharField(
        help_text="moved: look for a loose or bent part; too few to tell: too few weekends; too "
        "little to tell: the tool cannot tell it from reading; usual for this car; within "
        "tolerance."
    )
    text = serializers.SerializerMethodField(help_text="As the page says it.")

    def get_text(self, each: Drift) -> str:
        """In the units of the person asking."""
        return drift_line(each, *self.context["shown"]).text


class CarDriftSerializer(serializers.Serializer[Any]):
    """The latest weekend against the car's habit; no sheets where it has none yet."""

    set_sheet = serializers.UUIDField(source="latest.set_sheet.pk", default=None, allow_null=True)
    found_sheet = serializers.UUIDField(
        source="latest.found_sheet.pk", default=None, allow_null=True
    )
    earlier = serializers.IntegerField(help_text="Weekends that the habit is taken from, at most.")
    other_load = serializers.BooleanField(
        help_text="Another driver or other fuel: heights and weights are left out."
    )
    drifts = DriftSerializer(many=True, help_text="What moved first.")
