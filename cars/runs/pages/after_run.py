"""After a run: hot pressures and roll-outs, and which parts were on."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.figures.box_entries import box_text
from cars.models import Part, Run, RunReading
from cars.permissions import check_can_note_run, check_can_note_run_parts
from cars.runs.actions.after_run import note_run_part, note_run_readings
from cars.runs.pages.forms import NOTHING_SEEN
from cars.runs.pages.read_boxes import ReadBox, keys_of, typed_in, unit_words
from cars.runs.pages.track import run_or_404
from cars.runs.presenters.after_run import none_words
from cars.runs.queries.after_run import MEASURES, after_run
from cars.runs.queries.run_parts import PartInRun, parts_in
from cars.sheets.queries.parts_fitted import code_of
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import id_or_none
from clubsetup.quantities.units import Units
from clubsetup.site.pages import person

NAMES = {"pressure": "Hot pressure", "circumference": "Roll-out after the run"}


@login_required
def after(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The readings of the four tyres as the car came in."""
    run, by = run_or_404(request, pk), person(request)
    check_can_note_run(by, run)
    units = by.units(run.team.club.units())
    read = after_run(run)
    standing = read.readings if read else {}
    wrong: dict[str, str] = {}
    refused = ""
    if request.method == "POST":
        typed = typed_in(request.POST, MEASURES, units, wrong)
        touched = [key for key in keys_of(MEASURES) if _is_touched(request.POST, key)]
        if not wrong and not touched:
            return redirect("run", pk=pk)
        if not wrong:
            readings = {key: typed.get(key) for key in touched}
            seen = {key: _seen(request.POST, key) for key in touched}
            try:
                with transaction.atomic():
                    note_run_readings(by=by, run=run, readings=readings, expected=seen)
            except (Invalid, WrongState) as refusal:
                refused = str(refusal)
            else:
                messages.success(request, "Saved: what was read after the run.")
                return redirect("run", pk=pk)
    context = {
        "run": run,
        "car": run.car,
        "measures": [
            (
                f"{NAMES[name]}, {unit_words(name, units)}",
                _boxes(request, name, standing, wrong, units),
            )
            for name in MEASURES
        ],
        "refused": refused,
    }
    return render(
        request, "cars/runs/after_run.html", context, status=400 if wrong or refused else 200
    )


def _is_touched(sent: QueryDict, key: Key) -> bool:
    return sent.get(str(key), "").strip() != sent.get(f"was-{key}", "").strip()


def _seen(sent: QueryDict, key: Key) -> UUID | None:
    return id_or_none(sent.get(f"seen-{key}"))


def _boxes(
    request: HttpRequest,
    measure: str,
    standing: Mapping[Key, RunReading],
    wrong: Mapping[str, str],
    units: Units,
) -> list[dict[str, Any]]:
    """With what stood in each when the page was made, which is sent back with it."""
    shown = []
    for key in keys_of([measure]):
        row = standing.get(key)
        was = box_text(catalogue().measures[measure], row.typed, row.unit, units) if row else ""
        was = request.POST.get(f"was-{key}", was)
        seen = request.POST.get(f"seen-{key}", str(row.pk) if row else NOTHING_SEEN)
        text = request.POST.get(str(key), was)
        box = ReadBox(str(key), key.spot, text, wrong.get(str(key), ""), seen)
        shown.append({"box": box, "was": was})
    return shown


@login_required
def parts(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Which of the team's parts were on in this run; for who may see the codes."""
    run, by = run_or_404(request, pk), person(request)
    check_can_note_run_parts(by, run)
    places = parts_in(run)
    known = _parts_of(run)
    if request.method == "POST":
        try:
            with transaction.atomic():
                for place, part in _chosen(request.POST, places, known):
                    note_run_part(
                        by=by,
                        run=run,
                        sort=place.sort,
                        spot=place.spot,
                        part=part,
                        expected=id_or_none(request.POST.get(f"seen-{_field(place)}")),
                    )
        except (Invalid, WrongState) as refusal:
            messages.error(request, str(refusal))
            return redirect("run-parts", pk=pk)
        messages.success(request, "Kept: which parts were on in this run.")
        return redirect("run", pk=pk)
    sorts = [
        (
            Part.Sort(sort).label,
            [part for part in known if part.sort == sort],
            [(place, _field(place), none_words(place)) for place in places if place.sort == sort],
        )
        for sort in Part.Sort.values
    ]
    context = {"run": run, "car": run.car, "sorts": sorts}
    return render(request, "cars/runs/run_parts.html", context)


def _parts_of(run: Run) -> list[Part]:
    """The team's parts in the order of their codes."""
    rows = Part.objects.filter(team_id=run.team_id).select_related("code")
    return sorted(rows, key=lambda part: (code_of(part) is None, code_of(part) or ""))


def _field(place: PartInRun) -> str:
    return f"{place.sort}-{place.spot}"


def _chosen(
    sent: QueryDict, places: list[PartInRun], known: list[Part]
) -> list[tuple[PartInRun, Part | None]]:
    """The corners whose choice is another than the page was made with."""
    by_id = {str(part.pk): part for part in known}
    chosen: list[tuple[PartInRun, Part | None]] = []
    for place in places:
        field = _field(place)
        given = sent.get(field)
        if given is None or given == sent.get(f"was-{field}", ""):
            continue
        if given and given not in by_id:
            raise Invalid(field, "This part is not the team's. Reload the page.")
        chosen.append((place, by_id.get(given)))
    return chosen
