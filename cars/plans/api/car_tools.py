"""The API of what is worked out from a car: gearing, springs and tyres."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.catalogue.queries import catalogue
from cars.lookups import car_or_404
from cars.models import Car
from cars.plans.api import car_tool_serializers as s
from cars.plans.api.tools import read_address
from cars.plans.presenters.gearing import gearing_refusals
from cars.plans.queries.gearing import asked_of_car, car_gearing, gearing_figures
from cars.plans.queries.spring_rates import CarSprings, car_springs, rate_of_coil, rates_at
from clubsetup.access.api.me import asking
from clubsetup.access.errors import Invalid

S = serializers.Serializer[Any]


def _asked(kind: type[S], request: Request, car: Car) -> dict[str, Any]:
    """What the address asks, in the units of the person asking."""
    units = asking(request).units(car.team.club.units())
    return dict(read_address(kind, request, units).validated_data)


class CarGearingView(APIView):
    """Gearing."""

    @extend_schema(responses=s.GearingSerializer, parameters=[s.GearingAskedSerializer])
    def get(self, request: Request, pk: UUID) -> Response:
        """Ratio, speed and chain of two sprockets, and of those next to it on the axle.

        Teeth and roll-out that are left out are those read last; 400 where none was.
        """
        car = car_or_404(request, pk)
        given = _asked(s.GearingAskedSerializer, request, car)
        with gearing_refusals():
            figures = gearing_figures(asked_of_car(given, car_gearing(car, catalogue())))
        return Response(s.GearingSerializer(figures).data)


class CarSpringsView(APIView):
    """Springs and tyres."""

    @extend_schema(responses=s.SpringsSerializer, parameters=[s.SpringsAskedSerializer])
    def get(self, request: Request, pk: UUID) -> Response:
        """Wheel rate and ride rate of each spring, and what another would be."""
        car = car_or_404(request, pk)
        given = _asked(s.SpringsAskedSerializer, request, car)
        read = car_springs(car, catalogue())
        answer = {
            "missing": read.missing,
            "corners": read.corners,
            "coil_rate": _coil(given),
            "other": _other(given, read),
        }
        return Response(s.SpringsSerializer(answer).data)


def _coil(given: dict[str, Any]) -> float | None:
    coil = {name: given[name] for name in ("wire", "mean_diameter", "active_coils")}
    lacking = [name for name, value in coil.items() if value is None]
    if lacking and len(lacking) < len(coil):
        raise Invalid(lacking[0], "A coil is asked with wire, mean_diameter and active_coils.")
    return None if lacking else rate_of_coil(**coil)


def _other(given: dict[str, Any], read: CarSprings) -> Any:
    if given["rate"] is None:
        return None
    at = read.at(given["corner"] or "")
    if at is None:
        raise Invalid("corner", read.missing or "Say at which corner, as in RF.")
    return rates_at(given["rate"], at.motion_ratio, at.tyre_rate, at)
