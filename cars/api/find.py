"""The things an address names, if whoever asks may see them; else 404."""

from uuid import UUID

from django.http import Http404
from django.shortcuts import get_object_or_404
from rest_framework.request import Request

from cars.models import Baseline, Car, Sheet
from cars.queries.bench_view import sheet_to_write
from cars.queries.sheet_view import find_sheet
from clubsetup.access.api.me import asking
from teams.queries.reads import tell_of_read


def sheet_or_404(request: Request, pk: UUID) -> Sheet:
    """A sheet with what its head shows; a reader from outside stands in the team's trail."""
    found = find_sheet(pk)
    if found is None:
        raise Http404
    tell_of_read(asking(request), found.team_id, found)
    return found


def writable_sheet_or_404(pk: UUID) -> Sheet:
    """A sheet with as much of it as taking a reading asks for."""
    found = sheet_to_write(pk)
    if found is None:
        raise Http404
    return found


def car_or_404(request: Request, pk: UUID) -> Car:
    """A car with its team, chassis and baseline; told to the team as a sheet is."""
    joined = ("team__club", "chassis__club", "baseline__chassis")
    found = get_object_or_404(Car.objects.select_related(*joined), pk=pk)
    tell_of_read(asking(request), found.team_id, found)
    return found


def baseline_or_404(pk: UUID) -> Baseline:
    """A baseline with its chassis and club."""
    return get_object_or_404(Baseline.objects.select_related("chassis__club", "club"), pk=pk)
