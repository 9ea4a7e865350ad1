"""What is worked out from a car as JSON: gearing, springs and tyres.

Lengths mm, speeds m/s, rates N/mm, engine speeds in turns a minute.
"""

from typing import Any

from rest_framework import serializers

from cars.mechanics import CORNER_NAMES
from cars.plans.api.tool_serializers import OPTIONAL, asked
from cars.plans.queries.gearing import (
    FASTEST,
    FEWEST_DRIVEN,
    FEWEST_DRIVING,
    MOST_DRIVEN,
    MOST_DRIVING,
    SLOWEST,
)
from cars.plans.queries.spring_rates import LEAST_COILS, MOST_COILS
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import PlainFloat

CORNERS = [(corner, corner) for corner in CORNER_NAMES]


def teeth(low: int, high: int, help_text: str) -> serializers.IntegerField:
    """A number of teeth in the address."""
    return serializers.IntegerField(min_value=low, max_value=high, help_text=help_text, **OPTIONAL)


def plain(low: float, high: float, help_text: str) -> PlainFloat:
    """A number in the address."""
    return PlainFloat(min_value=low, max_value=high, help_text=help_text, **OPTIONAL)


class GearingAskedSerializer(serializers.Serializer[Any]):
    """Sprockets and what goes with them; what is left out is as the car's sheets say it."""

    driving = teeth(FEWEST_DRIVING, MOST_DRIVING, "Of the sprocket that drives the axle.")
    driven = teeth(FEWEST_DRIVEN, MOST_DRIVEN, "Of the sprocket on the axle.")
    first_driving = teeth(FEWEST_DRIVING, MOST_DRIVEN, "Of a stage before the axle's chain.")
    first_driven = teeth(FEWEST_DRIVING, MOST_DRIVEN, "Of the same stage.")
    roll_out = asked(
        Kind.LENGTH, bounds.ROLL_OUT, "Of the rear tyres; left out: the mean of both as read."
    )
    engine_speed = plain(SLOWEST, FASTEST, "Turns a minute: asks for the speed.")
    speed = asked(Kind.SPEED, bounds.GROUND_SPEED, "As in 38 mph: asks for the engine's.")
    centre_distance = asked(Kind.LENGTH, bounds.SHAFTS, "Between the shafts: asks for the chain.")
    pitch = asked(Kind.LENGTH, bounds.CHAIN_PITCH, "Of the chain, as in 3/8 in.")


class DriveChainSerializer(serializers.Serializer[Any]):
    """The axle's chain."""

    links = serializers.FloatField(help_text="That far apart, not rounded.")
    whole = serializers.IntegerField(help_text="The shortest even number that goes round.")
    centre_distance = serializers.FloatField(
        help_text="Between the shafts, that the whole chain asks for."
    )


class SprocketLineSerializer(serializers.Serializer[Any]):
    """One sprocket on the axle."""

    driven = serializers.IntegerField()
    ratio = serializers.FloatField()
    engine_speed = serializers.FloatField(allow_null=True, help_text="At `compared_at`.")
    whole_chain = serializers.IntegerField(
        allow_null=True, help_text="Null: not asked, or the sprockets touch."
    )


class GearingSerializer(serializers.Serializer[Any]):
    """What a pair of sprockets gives, without slip."""

    ratio = serializers.FloatField(help_text="Turns of the engine for one of the axle.")
    ground_speed = serializers.FloatField(allow_null=True, help_text="At the engine speed asked.")
    engine_speed = serializers.FloatField(allow_null=True, help_text="At the speed asked.")
    chain = DriveChainSerializer(allow_null=True)
    compared_at = serializers.FloatField(allow_null=True, help_text="Of `neighbours`.")
    neighbours = SprocketLineSerializer(many=True)


class SpringsAskedSerializer(serializers.Serializer[Any]):
    """A spring from its wire, and another one at a corner; each is asked whole or not at all."""

    wire = asked(Kind.LENGTH, bounds.WIRE, "Its thickness.")
    mean_diameter = asked(Kind.LENGTH, bounds.COIL, "Outside diameter less one wire.")
    active_coils = plain(LEAST_COILS, MOST_COILS, "Those that are free to move.")
    corner = serializers.ChoiceField(CORNERS, help_text="Where `rate` would be.", **OPTIONAL)
    rate = asked(Kind.SPRING_RATE, bounds.SPRING_RATE, "Of the other spring at `corner`.")


class WheelRatesSerializer(serializers.Serializer[Any]):
    """One spring as its wheel has it."""

    wheel_rate = serializers.FloatField(help_text="Without the tyre.")
    ride_rate = serializers.FloatField(help_text="In series with the tyre.")
    ride_rate_in_roll = serializers.FloatField(
        help_text="The same as the axle leans about its middle."
    )


class CornerSpringSerializer(serializers.Serializer[Any]):
    """One corner as it stands."""

    corner = serializers.CharField()
    spring_rate = serializers.FloatField()
    read_on = serializers.UUIDField(
        source="read_on.pk",
        default=None,
        allow_null=True,
        help_text="The sheet that the spring's rate was read on; null: on none.",
    )
    by_baseline = serializers.BooleanField(
        help_text="The rate is the baseline's target; neither: the chassis page's."
    )
    motion_ratio = serializers.FloatField(help_text="Spring travel per axle travel.")
    tyre_rate = serializers.FloatField()
    place = serializers.FloatField(help_text="How far out it stands, part of half the track.")
    rates = WheelRatesSerializer()


class SpringsSerializer(serializers.Serializer[Any]):
    """Springs and tyres."""

    missing = serializers.CharField(help_text="Why there are no corners; empty where there are.")
    corners = CornerSpringSerializer(many=True)
    coil_rate = serializers.FloatField(allow_null=True, help_text="Of the spring of that wire.")
    other = WheelRatesSerializer(allow_null=True, help_text="Of `rate` at `corner`.")
