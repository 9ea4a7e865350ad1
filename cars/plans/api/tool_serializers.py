"""What helps beside the readings as JSON: rods, block marks, lead and stagger, ballast.

Lengths mm, angles degrees, masses kg, shares as fractions. Every `u` is a standard uncertainty.
"""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cars.mechanics.fuel import DENSITIES
from cars.models import BallastMount, BallastPiece
from cars.plans.api.serializers import CornersSerializer
from cars.plans.queries.ballast import Weighing, weighing_of
from cars.plans.queries.block_marks import SIDES, SideMarks
from cars.plans.queries.lead import is_straight
from cars.plans.queries.rods import RODS
from cars.sheets.api.seen import SeenFiguresField
from clubsetup.access.api.idempotency import OWN_ID
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityLimits, Typed
from clubsetup.site.api_fields import PlainFloat, TypedQuantity

FRAME_IS = [(way, way) for way in ("ahead", "behind")]
FUELS = [(fuel, fuel) for fuel in DENSITIES]


OPTIONAL: dict[str, Any] = {"required": False, "allow_null": True, "default": None}


def asked(
    kind: Kind, limits: QuantityLimits, help_text: str, *, required: bool = False
) -> TypedQuantity:
    """A quantity in the address, as people say it."""
    may_lack = {} if required else OPTIONAL
    return TypedQuantity(kind=kind, limits=limits, help_text=help_text, **may_lack)


def number(typed: Typed | None) -> float:
    """Its canonical value; nothing is 0."""
    return float(typed.value) if typed else 0.0


class RodsAskedSerializer(serializers.Serializer[Any]):
    """How the rear radius rods are made."""

    threads = PlainFloat(min_value=4, max_value=80, help_text="Per inch.")
    both_ends = serializers.BooleanField(
        default=True, help_text="Both ends threaded, one left-handed."
    )
    upper = asked(
        Kind.LENGTH, bounds.ROD_PIN, "Upper pin above the middle of the axle: 3 1/2.", required=True
    )
    lower = asked(
        Kind.LENGTH, bounds.ROD_PIN, "Lower pin below the middle of the axle.", required=True
    )
    frame_is = serializers.ChoiceField(FRAME_IS, default="ahead", help_text="Of the axle.")
    angle_upper = asked(
        Kind.ANGLE, bounds.ROD_ANGLE, "By how much the upper rod rises towards the frame."
    )
    angle_lower = asked(
        Kind.ANGLE, bounds.ROD_ANGLE, "By how much the lower rod rises towards the frame."
    )


class EndMoveSerializer(serializers.Serializer[Any]):
    """A move of one end of the axle."""

    fore_aft = serializers.FloatField(help_text="mm, plus is forward.")
    rotation = serializers.FloatField(help_text="Degrees, plus: the top of the carrier forward.")


class RodTurnsSerializer(serializers.Serializer[Any]):
    """Turns of both rods; plus lengthens."""

    upper = serializers.FloatField()
    lower = serializers.FloatField()


class RodEndSerializer(serializers.Serializer[Any]):
    """One end of the axle."""

    side = serializers.CharField()
    wanted = EndMoveSerializer(help_text="What would bring it to its target.")
    turns = RodTurnsSerializer(help_text="In steps that the rods can be turned by.")
    exact = RodTurnsSerializer(help_text="Without rounding.")
    left_over = EndMoveSerializer(help_text="After `turns`.")
    outcome = serializers.CharField(
        help_text="Of bar and rotation as read: on target is left alone; off, too close to tell, "
        "no target."
    )


class RodTurnSerializer(serializers.Serializer[Any]):
    """One rod that was turned."""

    side = serializers.ChoiceField([(side, side) for side in SIDES])
    rod = serializers.ChoiceField([(rod, rod) for rod in RODS])
    turns = serializers.DecimalField(8, 4, help_text="Plus lengthens.")


class RodsTurnedSerializer(serializers.Serializer[Any]):
    """Rods that were turned: all of them, or none where one cannot be."""

    id = serializers.UUIDField(
        required=False, help_text=f"{OWN_ID} Of this sending, so that it is noted once."
    )
    turns = serializers.ListField(child=RodTurnSerializer(), min_length=1, max_length=4)
    seen = SeenFiguresField()


class MarksSetSerializer(serializers.Serializer[Any]):
    """Marks that one side's blocks were set to."""

    id = serializers.UUIDField(required=False, help_text=f"{OWN_ID} Of the change.")
    side = serializers.ChoiceField([(side, side) for side in SIDES])
    marks = serializers.ListField(
        child=serializers.CharField(max_length=8), min_length=1, max_length=4
    )
    seen = SeenFiguresField()


class RodsSerializer(serializers.Serializer[Any]):
    """What to turn at the radius rods, or what is missing for it."""

    missing = serializers.CharField(help_text="Empty: nothing.")
    seen = serializers.CharField(help_text="Send it with the rods that were turned.")
    trouble = serializers.CharField(help_text="Why there is no answer; empty where there is one.")
    ends = RodEndSerializer(many=True)


class MarksTriedSerializer(serializers.Serializer[Any]):
    """A setting of the blocks with what it is expected to give."""

    marks = serializers.ListField(child=serializers.CharField(), source="camber.marks")
    camber = serializers.FloatField(source="camber.angle")
    u_camber = serializers.FloatField(source="camber.u")
    off = serializers.FloatField(source="camber.miss", help_text="Camber minus its target.")
    times_read = serializers.IntegerField(source="camber.times_read")
    outcome = serializers.CharField(
        help_text="What the next reading is expected to be to its target, with its 95 %."
    )
    stands = serializers.BooleanField(help_text="The blocks are noted as set so now.")
    caster = serializers.FloatField(source="caster.angle", default=None, allow_null=True)
    u_caster = serializers.FloatField(source="caster.u", default=None, allow_null=True)


class SideMarksSerializer(serializers.Serializer[Any]):
    """One side of the car: the settings nearest its target, from this car's own readings."""

    side = serializers.CharField()
    target = serializers.FloatField(allow_null=True)
    now = serializers.FloatField(allow_null=True)
    outcome = serializers.CharField(
        help_text="What the camber as read is to its target: on target is left alone."
    )
    leave = serializers.BooleanField(help_text="On target: nothing to set, nothing to read.")
    seen = serializers.CharField(help_text="Send it with the marks that were set.")
    pairs = serializers.IntegerField(help_text="How many marks with their camber were noted.")
    choices = MarksTriedSerializer(many=True)
    why_not = serializers.CharField(help_text="Why there are none; empty where there are.")
    within_reach = serializers.BooleanField(
        source="suggestion.within_reach",
        default=None,
        allow_null=True,
        help_text="The target lies within what the settings read so far give.",
    )
    measure_next = serializers.SerializerMethodField(help_text="The marks that would teach most.")
    why = serializers.CharField(source="suggestion.why", default="", help_text="Why those.")

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_measure_next(self, side: SideMarks) -> list[str]:
        """None where enough is known, or nothing need be."""
        return list(side.measure_next or ())


class LeadAskedSerializer(serializers.Serializer[Any]):
    """The corner and the steering."""

    radius = asked(
        Kind.LENGTH,
        bounds.CORNER_RADIUS,
        "Where the car runs, as in 48 ft; the track's where left out.",
    )
    ratio = PlainFloat(
        required=False,
        allow_null=True,
        default=None,
        min_value=0.2,
        max_value=30,
        help_text="Degrees at the steering wheel for one at the wheels; needed for the hands.",
    )


class RollsSerializer(serializers.Serializer[Any]):
    """What the car does by itself."""

    radius = serializers.SerializerMethodField(help_text="mm, plus is left; null: straight.")

    @extend_schema_field(serializers.FloatField(allow_null=True))
    def get_radius(self, radius: float) -> float | None:
        """JSON knows no infinity."""
        return None if is_straight(radius) else radius


class StaggerSerializer(serializers.Serializer[Any]):
    """One axle's stagger, mm."""

    axle = serializers.CharField()
    stagger = serializers.FloatField()
    wanted = serializers.FloatField(help_text="That rolls round this corner by itself.")
    rolls = RollsSerializer(source="radius")


class CornerFiguresSerializer(serializers.Serializer[Any]):
    """Lead, stagger and hands against a corner."""

    radius = serializers.FloatField(help_text="Of the corner, mm.")
    lead = serializers.FloatField(allow_null=True, help_text="mm; null: not read.")
    lead_wanted = serializers.FloatField(help_text="That rolls round this corner by itself, mm.")
    rolls = RollsSerializer(source="lead_radius", allow_null=True)
    staggers = StaggerSerializer(many=True)
    hands = serializers.FloatField(
        allow_null=True, help_text="Degrees at the wheel left to hold, plus is left."
    )
    hands_read = serializers.FloatField(allow_null=True, help_text="As read.")


class LeadSerializer(serializers.Serializer[Any]):
    """Lead and stagger against the corner, or what is missing for it."""

    missing = serializers.ListField(child=serializers.CharField())
    trouble = serializers.CharField(help_text="Why there is no answer; empty where there is one.")
    figures = CornerFiguresSerializer(allow_null=True)


class WeighingAskedSerializer(serializers.Serializer[Any]):
    """What the car must weigh, and what will be different then."""

    minimum = asked(Kind.MASS, bounds.CAR, "Class minimum, with driver.", required=True)
    margin = asked(
        Kind.MASS, bounds.MARGIN, "Above it, for scales that differ: 1 lb or more.", required=True
    )
    fuel_now = asked(Kind.VOLUME, bounds.FUEL, "In it now.", required=True)
    fuel_then = asked(Kind.VOLUME, bounds.FUEL, "At the weighing; as now where left out.")
    fuel = serializers.ChoiceField(FUELS, default="gasoline")
    tank_x = asked(
        Kind.LENGTH, bounds.ALONG_THE_CAR, "Ahead of the rear axle; needed where the fuel differs."
    )
    tank_y = asked(Kind.LENGTH, bounds.ACROSS_THE_CAR, "Left of the middle; minus is right.")
    driver = asked(Kind.MASS, bounds.HEAVIER, "Heavier at the weighing by; minus where lighter.")
    between = asked(
        Kind.MASS,
        bounds.DOUBT,
        "Doubt between these scales and those that decide; left out: as these pads.",
    )
    without = serializers.CharField(
        default="", max_length=1600, help_text="Pieces to leave out: their ids with commas between."
    )

    def validate_without(self, text: str) -> list[UUID]:
        """The ids."""
        try:
            return [UUID(each) for each in text.split(",") if each]
        except ValueError as error:
            raise serializers.ValidationError("Write ids with commas between.") from error

    @property
    def without_pieces(self) -> list[UUID]:
        """Which pieces are left out."""
        pieces = self.validated_data["without"]
        return pieces if isinstance(pieces, list) else []

    @property
    def weighing(self) -> Weighing:
        """What was asked, canonical. Raises Invalid."""
        given = self.validated_data
        then, x, between = (given[name] for name in ("fuel_then", "tank_x", "between"))
        return weighing_of(
            number(given["minimum"]),
            number(given["margin"]),
            number(given["fuel_now"]),
            number(then) if then else None,
            number(x) if x else None,
            number(given["tank_y"]),
            fuel=given["fuel"],
            driver=number(given["driver"]),
            between=number(between) if between else None,
        )


class BallastMoveSerializer(serializers.Serializer[Any]):
    """One piece and where it goes; the same is sent to note it."""

    piece = serializers.PrimaryKeyRelatedField(queryset=BallastPiece.objects.all())
    mount = serializers.PrimaryKeyRelatedField(
        queryset=BallastMount.objects.all(), allow_null=True, help_text="Null: taken off the car."
    )


class BallastMovesSerializer(serializers.Serializer[Any]):
    """Pieces that were fitted, moved or taken off: all of them, or none where one cannot be."""

    id = serializers.UUIDField(
        required=False, help_text=f"{OWN_ID} Of this sending, so that it is noted once."
    )
    moves = serializers.ListField(child=BallastMoveSerializer(), min_length=1, max_length=40)
    seen = SeenFiguresField(
        help_text="As it was told with the plans: refused where a piece was moved since. "
        "`anything`: noted wherever the pieces are by now."
    )
    confirmed = serializers.ListField(
        child=serializers.UUIDField(),
        default=list,
        max_length=40,
        help_text="Pieces marked for another car that are meant all the same.",
    )


class PlannedMoveSerializer(serializers.Serializer[Any]):
    """One piece to fit, move or take off."""

    piece = serializers.UUIDField()
    mount = serializers.UUIDField(allow_null=True)
    text = serializers.CharField()
    marked_for_another = serializers.CharField(
        help_text="What is written on a piece that is marked for another car: send it as "
        "`confirmed`, or ask for a plan `without` it. Empty for any other."
    )


class ShareSerializer(serializers.Serializer[Any]):
    """A share of the weight, fraction."""

    name = serializers.CharField(help_text="left, rear, cross.")
    share = serializers.FloatField()
    u = serializers.FloatField()


class BallastPlanSerializer(serializers.Serializer[Any]):
    """Which piece goes where, and what that is predicted to give. Not a weighing: weigh again."""

    moves = PlannedMoveSerializer(many=True)
    weight = serializers.FloatField(help_text="At the weighing, with the driver then, kg.")
    u_weight = serializers.FloatField()
    over = serializers.FloatField(help_text="The minimum, kg; minus is under.")
    under = serializers.FloatField(help_text="Probability of being under the minimum.")
    legal = serializers.BooleanField(help_text="It reaches the minimum and the margin.")
    weights = CornersSerializer(help_text="As the scales would read now, kg.")
    shares = ShareSerializer(many=True, help_text="With the fuel that is in it now.")
    height_change = CornersSerializer(help_text="mm.")
    unusable = serializers.ListField(
        child=serializers.CharField(), help_text="Pieces that no mount can hold."
    )
    proven = serializers.BooleanField(help_text="No nearer placing exists.")


class BallastPlansSerializer(serializers.Serializer[Any]):
    """Ballast plans, best first, or what is missing for them."""

    missing = serializers.ListField(child=serializers.CharField())
    trouble = serializers.CharField(help_text="Why there is no answer; empty where there is one.")
    short = serializers.FloatField(help_text="By so many kg all pieces and mounts fall short.")
    seen = serializers.CharField(help_text="Send it with the pieces that were fitted.")
    plans = BallastPlanSerializer(many=True)
