"""What cars can print: the setup sheet."""

from typing import Any

from django.template.loader import render_to_string

from cars.lookups import find_sheet
from cars.models import Sheet
from cars.sheets.presenters.comments import comments_of
from cars.sheets.presenters.drawing import drawing_of
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.models import User
from clubsetup.printing.registry import Document

# The step that begins the right half of a sheet: about as much stands before it as after.
RIGHT_FROM = 6


def title(sheet: Sheet) -> str:
    """The print's title, and its file's name."""
    version = f", version {sheet.version}" if sheet.version > 1 else ""
    return f"Setup sheet, car {sheet.car.number}, {sheet}{version}"


def setup_sheet_html(sheet: Sheet, viewer: User) -> str:
    """One sheet on paper: head, drawing, every figure with its target, and room to write."""
    whole = find_sheet(sheet.pk) or sheet
    view = sheet_view(whole, viewer)
    context: dict[str, Any] = {
        "sheet": whole,
        "view": view,
        "drawing": drawing_of(view),
        "remarks": comments_of(whole, view.units),
        "title": title(whole),
        "right_from": RIGHT_FROM,
    }
    return render_to_string("cars/sheets/setup_sheet.html", context)


SETUP_SHEET = Document(
    key="sheet",
    name="Setup sheet",
    model=Sheet,
    title=title,
    html=setup_sheet_html,
    clock=lambda sheet: sheet.team.club.zone(),
    styles=("cars/sheets/setup_sheet.css",),
)

DOCUMENTS = (SETUP_SHEET,)
