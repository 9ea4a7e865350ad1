"""What the pages that work something out from a sheet share."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponseRedirect, QueryDict
from django.shortcuts import redirect

from cars.models import Car, Sheet
from cars.permissions import check_can_write_sheet
from cars.sheets.queries.sheets import open_benches, set_sheet_of
from clubsetup.access.errors import is_allowed
from clubsetup.site.pages import person

TOOLS = [
    ("sheet-turn", "What to turn"),
    ("sheet-what-if", "Try it on paper"),
    ("sheet-ballast", "Ballast to add"),
    ("sheet-rods", "Rod turns"),
    ("sheet-marks", "Block marks"),
    ("sheet-lead", "Lead and stagger"),
]

# What helps beside the readings of a step.
OF_STEP = {
    "tyres": ("sheet-lead",),
    "rear-axle": ("sheet-rods",),
    "kingpin": ("sheet-marks",),
    "lead": ("sheet-lead",),
    "ride-heights": ("sheet-turn", "sheet-what-if"),
    "scales": ("sheet-turn", "sheet-what-if"),
    "ballast": ("sheet-ballast",),
}

# What is worked out from a car, whichever sheet says it.
CAR_TOOLS = [("gearing", "Gearing"), ("springs", "Springs and tyres")]
CAR_TOOLS_OF_STEP = {
    "tyres": ("gearing", "springs"),
    "springs-dampers": ("springs",),
    "gearing": ("gearing",),
}


def car_tools_of(step: str) -> list[tuple[str, str]]:
    """The car's tools of a step, by the name of their address and what they are called."""
    return [(name, label) for name, label in CAR_TOOLS if name in CAR_TOOLS_OF_STEP.get(step, ())]


def tools_of(step: str) -> list[tuple[str, str]]:
    """The tools of a step, by the name of their address and what they are called."""
    return [(name, label) for name, label in TOOLS if name in OF_STEP.get(step, ())]


# The step of the bench that a tool is asked from.
STEP_OF = {
    "sheet-turn": "scales",
    "sheet-what-if": "scales",
    "sheet-ballast": "ballast",
    "sheet-rods": "rear-axle",
    "sheet-marks": "kingpin",
    "sheet-lead": "lead",
    "gearing": "gearing",
    "springs": "springs-dampers",
}


def is_editable(request: HttpRequest, sheet: Sheet) -> bool:
    """Whoever asks may write on the sheet, and it is open."""
    is_open = sheet.state == Sheet.State.OPEN
    return is_open and is_allowed(check_can_write_sheet, person(request), sheet)


def page_of(tool: str, sheet: Sheet) -> HttpResponseRedirect:
    """Back to a tool, on the sheet as set where what was noted on a found one stands there."""
    set_sheet = set_sheet_of(sheet) if sheet.role == Sheet.Role.FOUND else None
    return redirect(tool, pk=set_sheet.pk if set_sheet else sheet.pk)


def on_the_page(sheet: Sheet, here: str) -> dict[str, Any]:
    """The sheet, the row of links with the one that is shown, and its step of the bench."""
    return {"sheet": sheet, "here": here, "tools": TOOLS, "bench_step": STEP_OF[here]}


def car_page(car: Car, here: str) -> dict[str, Any]:
    """The car, its tools with the one that is shown, and the bench that is open on it."""
    bench = open_benches([car]).first()
    return {
        "car": car,
        "here": here,
        "tools": CAR_TOOLS,
        "bench": bench,
        "bench_step": STEP_OF[here],
    }


def sent(request: HttpRequest, form: type[forms.Form], *, but: str = "") -> QueryDict | None:
    """What the address asks this form with; None where it asks nothing of it."""
    asks = any(name in request.GET for name in form.base_fields if name != but)
    return request.GET if asks else None


def remember(request: HttpRequest, form: str, fields: Iterable[str]) -> None:
    """Keeps what was asked with, for the next time this person asks in this browser."""
    request.session[f"asked-{form}"] = {name: request.GET.get(name, "") for name in fields}


def remembered(request: HttpRequest, form: str) -> dict[str, str]:
    """What was asked with last, under the fields' names."""
    asked = request.session.get(f"asked-{form}", {})
    return asked if isinstance(asked, dict) else {}
