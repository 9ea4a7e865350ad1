"""What to turn at the rods, which block marks to try, and lead and stagger against the corner."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from cars.mechanics import MechanicsError
from cars.pages.find import sheet_or_404
from cars.pages.squaring_forms import CornerForm, RodForm, radius_text
from cars.pages.tools import on_the_page, remember, remembered
from cars.plan_view_axles import corner_lines, rod_cards, side_cards
from cars.queries import blocks, corner, rods
from cars.queries.bench import Bench, bench_of
from clubsetup.site.pages import person


@login_required
def square(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Turns of the radius rods that bring the rear axle square and its carriers right."""
    sheet, by = sheet_or_404(pk), person(request)
    bench = bench_of(sheet, by)
    form = RodForm(request.GET or None, initial=remembered(request, "rods"), units=bench.units)
    missing = rods.lacking(bench)
    context: dict[str, Any] = {
        **on_the_page(sheet, "sheet-square"),
        "form": form,
        "missing": missing,
    }
    if not missing and form.is_bound and form.is_valid():
        remember(request, "rods", RodForm.base_fields)
        context |= _rod_answer(bench, form)
    return render(request, "cars/plans/square.html", context)


def _rod_answer(bench: Bench, form: RodForm) -> dict[str, Any]:
    try:
        upper, lower, step = form.rods
        return {"cards": rod_cards(bench, rods.end_plans(bench, upper, lower, step=step))}
    except MechanicsError as refused:
        return {"trouble": str(refused)}


@login_required
def marks(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Block marks to try next, from what this car's own marks gave."""
    sheet, by = sheet_or_404(pk), person(request)
    sides = side_cards(blocks.side_marks(bench_of(sheet, by)))
    context = {**on_the_page(sheet, "sheet-marks"), "sides": sides}
    return render(request, "cars/plans/marks.html", context)


@login_required
def lead(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Lead and stagger against the track's corner, and the hands' angle."""
    sheet, by = sheet_or_404(pk), person(request)
    bench = bench_of(sheet, by)
    known = radius_text(sheet.track, bench.units)
    form = CornerForm(request.GET or ({"radius": known} if known else None), units=bench.units)
    context: dict[str, Any] = {
        **on_the_page(sheet, "sheet-lead"),
        "form": form,
        "missing": corner.lacking(bench),
    }
    chassis, _ = bench.chassis
    if chassis is not None and form.is_valid():
        radius, ratio = form.answer
        try:
            context["lines"] = corner_lines(
                bench, corner.corner_figures(bench, chassis, radius, ratio)
            )
        except MechanicsError as refused:
            context["trouble"] = str(refused)
    return render(request, "cars/plans/lead.html", context)
