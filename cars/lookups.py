"""The things an address names, if whoever is looking may see them; else 404."""

from uuid import UUID

from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from rest_framework.request import Request

from cars.models import BallastPiece, Baseline, Car, Chassis, Part
from clubsetup.site.pages import person
from teams.lookups import read_or_404
from teams.models import Team


def car_or_404(request: HttpRequest | Request, pk: UUID) -> Car:
    """A car with its team, chassis, class and baseline; told to the team as a sheet is."""
    joined = ("team__club", "chassis__club", "race_class", "baseline__chassis")
    return read_or_404(person(request), Car.objects.select_related(*joined), pk)


def team_or_404(pk: UUID) -> Team:
    """A team with its club."""
    return get_object_or_404(Team.objects.select_related("club"), pk=pk)


def chassis_or_404(pk: UUID) -> Chassis:
    """A chassis with its club."""
    return get_object_or_404(Chassis.objects.select_related("club"), pk=pk)


def baseline_or_404(pk: UUID) -> Baseline:
    """A baseline with its chassis and club."""
    joined = ("chassis__club", "club", "race_class", "published_by")
    return get_object_or_404(Baseline.objects.select_related(*joined), pk=pk)


def piece_or_404(pk: UUID) -> BallastPiece:
    """A ballast piece with its team."""
    return get_object_or_404(BallastPiece.objects.select_related("team__club", "car"), pk=pk)


def part_or_404(pk: UUID) -> Part:
    """A part with its team."""
    return get_object_or_404(Part.objects.select_related("team__club"), pk=pk)
