"""What cars can print: the setup sheet."""

from typing import Any

from django.template.loader import render_to_string

from cars.lookups import find_sheet
from cars.models import Sheet
from cars.sheets.presenters.comments import comments_of
from cars.sheets.presenters.drawing import drawing_of
from cars.sheets.presenters.exceptions import exceptions_of
from cars.sheets.presenters.figure_table import figure_table
from cars.sheets.presenters.sheet_view import sheet_view
from cars.sheets.presenters.target_sources import source_name
from cars.sheets.queries.targets import TargetSource
from clubsetup.access.models import User
from clubsetup.printing.registry import Document

# Of a strip between a figure and its verdict, in CSS pixels.
STRIP = (84.0, 10.1)


def title(sheet: Sheet) -> str:
    """The print's title, and its file's name."""
    version = f", version {sheet.version}" if sheet.version > 1 else ""
    return f"Setup sheet, car {sheet.car.number}, {sheet}{version}"


def setup_sheet_html(sheet: Sheet, viewer: User) -> str:
    """One sheet on paper, as its page has it: what is off first, then every figure, a line each."""
    whole = find_sheet(sheet.pk) or sheet
    view = sheet_view(whole, viewer)
    context: dict[str, Any] = {
        "sheet": whole,
        "view": view,
        "drawing": drawing_of(view),
        "groups": figure_table(view),
        "exceptions": exceptions_of(view, shown=STRIP),
        "before_word": view.before_word if whole.based_on else "",
        "target_name": source_name(view.target_source or TargetSource()),
        "remarks": comments_of(whole, view.units),
        "title": title(whole),
    }
    return render_to_string("cars/sheets/setup_sheet.html", context)


SETUP_SHEET = Document(
    key="sheet",
    name="Setup sheet",
    model=Sheet,
    title=title,
    html=setup_sheet_html,
    clock=lambda sheet: sheet.team.club.zone(),
    styles=("cars/sheets/paper.css", "cars/sheets/setup_sheet.css"),
)

DOCUMENTS = (SETUP_SHEET,)
