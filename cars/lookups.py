"""The things an address names, if whoever is looking may see them; else 404."""

from uuid import UUID

from django.http import Http404, HttpRequest
from django.shortcuts import get_object_or_404
from rest_framework.request import Request

from cars.models import (
    BallastPiece,
    Baseline,
    Car,
    Chassis,
    Part,
    Sheet,
    Suggestion,
    SuggestionTable,
)
from clubsetup.site.pages import person
from teams.lookups import read_or_404
from teams.models import Team
from teams.queries.reads import note_reader


def car_or_404(request: HttpRequest | Request, pk: UUID) -> Car:
    """A car with its team, chassis, class and baseline; told to the team as a sheet is."""
    joined = ("team__club", "chassis__club", "race_class", "baseline__chassis")
    return read_or_404(person(request), Car.objects.select_related(*joined), pk)


def set_sheet_or_404(request: HttpRequest | Request, pk: UUID) -> Sheet:
    """A closed sheet as set of a car that its team still has."""
    joined = (
        *("team__club", "car__team__club", "car__chassis__club", "car__race_class"),
        *("car__baseline__chassis", "driver", "track", "baseline"),
    )
    sheet = read_or_404(person(request), Sheet.objects.select_related(*joined), pk)
    is_set = sheet.role == Sheet.Role.SET and sheet.state == Sheet.State.CLOSED
    if not is_set or sheet.car.team_id != sheet.team_id:
        raise Http404
    return sheet


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


# What says whose a table of suggestions is.
WHOSE = ("club", "team__club", "coach")


def suggestion_table_or_404(request: HttpRequest | Request, pk: UUID) -> SuggestionTable:
    """A table of suggestions with whose it is; a coach who reads a team's stands in its trail."""
    rows = SuggestionTable.objects.select_related(*WHOSE, "published_by")
    table = get_object_or_404(rows, pk=pk)
    if table.team_id is not None:
        note_reader(person(request), table.team_id, table)
    return table


def suggestion_or_404(pk: UUID) -> Suggestion:
    """A row of a table, with the table and whose it is."""
    rows = Suggestion.objects.select_related(*(f"table__{name}" for name in WHOSE))
    return get_object_or_404(rows, pk=pk)


def find_sheet(pk: UUID) -> Sheet | None:
    """The sheet with everything its head shows, if whoever is looking may see it.

    One query joins what every sheet has; more tables in it would take PostgreSQL longer to plan
    than to read. What a sheet need not have is read when it has it.
    """
    joined = ("car__chassis", "car__race_class", "team__club", "driver", "track")
    apart = ("baseline", "based_on", "corrects", "corrected_by", "closed_by")
    sheet = Sheet.objects.select_related(*joined).prefetch_related(*apart).filter(pk=pk).first()
    if sheet is None:
        return None
    # The car may have gone to another team since; its chassis is of the sheet's club all the same.
    sheet.car.chassis.club = sheet.team.club
    if sheet.car.team_id == sheet.team_id:
        sheet.car.team = sheet.team
    if sheet.baseline and sheet.baseline.chassis_id == sheet.car.chassis_id:
        sheet.baseline.chassis = sheet.car.chassis
    return sheet


def read_sheet_of(request: HttpRequest, car: Car, sheet: Sheet) -> Sheet:
    """A sheet that was found with its car, as `sheet_or_404` gives one: nothing that stands on the
    car is asked for again."""
    sheet.car = car
    if sheet.team_id == car.team_id:
        sheet.team = car.team
    if sheet.baseline_id == car.baseline_id:
        sheet.baseline = car.baseline
    note_reader(person(request), sheet.team_id, sheet)
    return sheet


def sheet_or_404(request: HttpRequest | Request, pk: UUID) -> Sheet:
    """A sheet with what its head shows; a reader from outside stands in the team's trail."""
    sheet = find_sheet(pk)
    if sheet is None:
        raise Http404
    note_reader(person(request), sheet.team_id, sheet)
    return sheet
