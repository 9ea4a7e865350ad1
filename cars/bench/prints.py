"""What the bench can print: a sheet to fill in by hand, of a sheet begun or of a car alone."""

from datetime import tzinfo
from typing import Any

from django.template.loader import render_to_string

from cars.baselines.queries.baselines import baseline_for
from cars.bench.presenters.blank_sheet import blank_steps
from cars.catalogue.queries import catalogue
from cars.lookups import find_sheet
from cars.models import Car, Sheet
from cars.sheets.presenters.sheet_view import SheetView, build, sheet_view
from cars.sheets.presenters.target_sources import source_name
from cars.sheets.queries.targets import TargetSource, targets_of
from clubsetup.access.models import User
from clubsetup.printing.registry import Document
from teams.models import Surface

STYLES = ("cars/sheets/paper.css", "cars/bench/blank_sheet.css")


def sheet_title(sheet: Sheet) -> str:
    """The print's title, and its file's name."""
    return f"Bench sheet, car {sheet.car.number}, {sheet}"


def car_title(car: Car) -> str:
    """The same, where no sheet has been begun."""
    return f"Bench sheet, car {car.number}"


def blank_of_sheet(sheet: Sheet, viewer: User) -> str:
    """A sheet's head and targets, and empty boxes for all of its figures."""
    whole = find_sheet(sheet.pk) or sheet
    view = sheet_view(whole, viewer)
    return _page(view, view.target_source or TargetSource(), sheet_title(whole), is_begun=True)


def blank_of_car(car: Car, viewer: User) -> str:
    """The same with the baseline in force for the car, its head to be filled in too."""
    surface = car.baseline.surface if car.baseline else Surface.PAVED
    baseline = baseline_for(car, surface)
    # Nothing is kept: it holds what a sheet begun now would.
    sheet = Sheet(car=car, team=car.team, role=Sheet.Role.FOUND, surface=surface, baseline=baseline)
    source, known = TargetSource(baseline), catalogue()
    view = build(
        sheet,
        known,
        readings=[],
        before=[],
        targets=targets_of(sheet, source, known),
        changes=[],
        units=viewer.units(car.team.club.units()),
    )
    return _page(view, source, car_title(car), is_begun=False)


def _page(view: SheetView, source: TargetSource, title: str, *, is_begun: bool) -> str:
    context: dict[str, Any] = {
        "sheet": view.sheet,
        "is_begun": is_begun,
        "steps": blank_steps(view),
        "target_name": source_name(source),
        "title": title,
    }
    return render_to_string("cars/bench/blank_sheet.html", context)


def _clock(of: Sheet | Car) -> tzinfo:
    return of.team.club.zone()


DOCUMENTS = (
    Document(
        key="bench-sheet",
        name="Bench sheet",
        model=Sheet,
        title=sheet_title,
        html=blank_of_sheet,
        clock=_clock,
        styles=STYLES,
    ),
    Document(
        key="car-bench-sheet",
        name="Bench sheet",
        model=Car,
        title=car_title,
        html=blank_of_car,
        clock=_clock,
        styles=STYLES,
    ),
)
