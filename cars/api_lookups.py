"""The things an address of the API names, if whoever asks may see them; else 404."""

from uuid import UUID

from django.shortcuts import get_object_or_404
from rest_framework.request import Request

from cars.models import Baseline, Car
from clubsetup.access.api.me import asking
from teams.queries.reads import note_reader


def car_or_404(request: Request, pk: UUID) -> Car:
    """A car with its team, chassis and baseline; told to the team as a sheet is."""
    joined = ("team__club", "chassis__club", "baseline__chassis")
    found = get_object_or_404(Car.objects.select_related(*joined), pk=pk)
    note_reader(asking(request), found.team_id, found)
    return found


def baseline_or_404(pk: UUID) -> Baseline:
    """A baseline with its chassis and club."""
    return get_object_or_404(Baseline.objects.select_related("chassis__club", "club"), pk=pk)
