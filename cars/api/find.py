"""The things an address names, if whoever asks may see them; else 404."""

from uuid import UUID

from django.http import Http404
from django.shortcuts import get_object_or_404

from cars.models import Baseline, Car, Sheet
from cars.queries.bench_view import sheet_to_write
from cars.queries.sheet_view import find_sheet


def sheet_or_404(pk: UUID) -> Sheet:
    """A sheet with what its head shows."""
    found = find_sheet(pk)
    if found is None:
        raise Http404
    return found


def writable_sheet_or_404(pk: UUID) -> Sheet:
    """A sheet with as much of it as taking a reading asks for."""
    found = sheet_to_write(pk)
    if found is None:
        raise Http404
    return found


def car_or_404(pk: UUID) -> Car:
    """A car with its team, chassis and baseline."""
    joined = ("team__club", "chassis__club", "baseline__chassis")
    return get_object_or_404(Car.objects.select_related(*joined), pk=pk)


def baseline_or_404(pk: UUID) -> Baseline:
    """A baseline with its chassis and club."""
    return get_object_or_404(Baseline.objects.select_related("chassis__club", "club"), pk=pk)
