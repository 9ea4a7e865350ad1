"""Cars and new parts as JSON."""

from typing import Any

from rest_framework import serializers

from cars.api_base import perhaps, words
from cars.models import Baseline, Chassis, Part
from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from teams.api.serializers import row
from teams.models import RaceClass, Team


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
