"""Ballast pieces as JSON."""

from typing import Any

from rest_framework import serializers

from cars.api_base import perhaps
from cars.models import BallastMount, BallastPiece, Car
from clubsetup.access.api.creating import CreateOnceSerializer
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.api_fields import TypedQuantity
from teams.api.serializers import row
from teams.models import Team


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
