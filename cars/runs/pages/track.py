"""A car at the track: how it stands, what is changed, and its runs."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from functools import partial
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from cars.catalogue.queries import cached_catalogue
from cars.lookups import car_or_404
from cars.models import Car, Feel, Laps, Run, TrackChange, Weather
from cars.permissions import (
    check_can_note_run,
    check_can_note_run_parts,
    check_can_open_sheet,
)
from cars.runs.actions.at_track import set_sheet_of
from cars.runs.actions.runs import correct_run, note_feel, note_run, strike_run
from cars.runs.actions.track_changes import note_track_change, put_back, take_back_track_change
from cars.runs.pages.forms import (
    NOTHING_SEEN,
    NewRunForm,
    RunForm,
    StrikeForm,
    TrackChangeForm,
    initial_after,
    initial_of,
    seen_of,
)
from cars.runs.presenters.adjustments import ADJUSTABLE, adjustable_or_none, ways
from cars.runs.presenters.after_run import show_after, show_parts
from cars.runs.presenters.damage import damage_words, steps_due
from cars.runs.presenters.feel_pictures import questions
from cars.runs.presenters.track import air_words, between, run_title, show_now, show_run
from cars.runs.queries.car_now import car_now
from cars.runs.queries.entries_of_cars import OfCar, entries_offered, tie_to_entry
from cars.runs.queries.helped import last_change
from cars.runs.queries.run_notes import entries_of
from cars.runs.queries.runs import (
    RunNoted,
    newest_details,
    noted,
    run_or_none,
    runs_of,
    runs_of_day,
    twin_of,
    weather_now,
)
from clubsetup.access.errors import Invalid, is_allowed
from clubsetup.access.ids import id_or_none, new_id
from clubsetup.access.models import User
from clubsetup.offline.submissions import for_devices, submit_once
from clubsetup.quantities.units import Units
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import form_action, form_page, person, run_action, submit_action
from teams.queries.reads import note_reader

A_PAGE = 20
WAITED = timedelta(days=7)
LAP_MARKS = [("", "counts"), *((value, label.lower()) for value, label in Laps.Mark.choices)]
NO_SHEET = (
    "No sheet as set of this car yet. Runs can be noted; what a change would do to the car can be "
    "told once one is there."
)


@login_required
@for_devices
def track(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The next run of a car, with the car as it stands and the runs of today."""
    car, by = car_or_404(request, pk), person(request)
    may_write = is_allowed(check_can_open_sheet, by, car)
    today, weather = runs_of_day(car, timezone.localdate()), weather_now(car)
    form = None
    if may_write:
        units = by.units(car.team.club.units())
        day = timezone.localdate()
        # One that waited on the phone is of a day before.
        first = day - WAITED if request.method == "POST" else day
        asked = OfCar(car=car.pk, team=car.team_id, first=first, last=day)
        entries = entries_offered(by, asked)
        initial = initial_after(newest_details(today, car), car, entries)
        form = NewRunForm(
            request.POST or None,
            car=car,
            units=units,
            initial=initial,
            weather=weather,
            entries=entries,
        )
        if request.method == "POST":
            note = partial(_note, car=car)
            noted_as = id_or_none(request.POST.get("row_id")) or new_id()
            leads_to = "run-hand-over" if request.POST.get("then") == "hand-over" else "run"
            sent = submit_once(request, form, note, Run, then=reverse(leads_to, args=[noted_as]))
            if sent is not None:
                return sent
    number = len(today) + 1
    return _page(request, car, form=form, today=today, shown=None, number=number, weather=weather)


def _note(
    *,
    by: User,
    car: Car,
    typed_time: datetime | None,
    entry: UUID | None,
    device_at: datetime | None = None,
    **given: Any,
) -> Run:
    """The time that was typed, else that of the device it waited on, else now."""
    with _beside_its_box():
        made = note_run(by=by, car=car, ran_at=typed_time or device_at, **given)
        if entry is not None:
            tie_to_entry(by=by, run=made, entry=entry)
    return made


@contextmanager
def _beside_its_box() -> Iterator[None]:
    """What is refused of the time or the entry stands beside the box that asks for it."""
    try:
        yield
    except Invalid as refused:
        field = {"ran_at": "at", "entry": "entry_of_car"}.get(refused.field, refused.field)
        raise Invalid(field, refused.message) from refused


@login_required
def run(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One run: what stands of it, and what is noted of it now."""
    found, by = run_or_404(request, pk), person(request)
    car = found.car
    today = runs_of_day(car, timezone.localdate(found.ran_at))
    shown = next((each for each in today if each.run.pk == pk), None) or noted(found)
    form = None
    if found.struck_at is None and is_allowed(check_can_note_run, by, found):
        units = by.units(car.team.club.units())
        form = RunForm(
            request.POST or None,
            car=car,
            units=units,
            run=shown,
            **_entries_of(by, shown),
        )
        if request.method == "POST" and form_action(
            form, _correct, by=by, run=shown, filled=form, sent=request.POST
        ):
            return redirect("run", pk=pk)
    return _page(
        request,
        car,
        form=form,
        today=today,
        shown=shown,
        number=shown.number,
        weather=shown.details.weather,
    )


def _entries_of(by: User, shown: RunNoted) -> dict[str, Any]:
    """The entries that the run may be tied to, with the one it is tied to, and what else stands.

    None to whoever may not take it from the one it is tied to.
    """
    run, ran_on = shown.run, timezone.localdate(shown.run.ran_at)
    found = entries_of([run]).get(run)
    tied = found.entry if found else None
    asked = OfCar(car=run.car_id, team=run.team_id, first=ran_on, last=ran_on, tied=tied)
    entries = entries_offered(by, asked)
    if tied and tied not in {each.entry for each in entries}:
        entries = []
    return {"entries": entries, "initial": initial_of(shown) | {"entry_of_car": str(tied or "")}}


def _correct(*, by: User, run: RunNoted, filled: RunForm, sent: QueryDict) -> None:
    """Each of a run's three notes where it was changed; with what the page had of each."""
    changed = set(filled.changed_data)
    feel = {"entry", "middle", "exit", "hands", "steering"}
    saw = {"saw_entry", "saw_middle", "saw_exit"}
    if "entry_of_car" in changed:
        with _beside_its_box():
            tie_to_entry(by=by, run=run.run, entry=filled.tied_to)
    if changed - feel - saw - {"entry_of_car"}:
        with _beside_its_box():
            correct_run(
                by=by,
                run=run.run,
                facts=filled.facts,
                expected=seen_of(sent, "details"),
                ran_at=filled.ran_at if "at" in changed else None,
            )
    if changed & feel:
        note_feel(
            by=by,
            run=run.run,
            said_by=Feel.SaidBy.DRIVER,
            feel=filled.said,
            expected=seen_of(sent, "driver"),
        )
    if changed & saw:
        note_feel(
            by=by,
            run=run.run,
            said_by=Feel.SaidBy.HANDLER,
            feel=filled.saw,
            expected=seen_of(sent, "handler"),
        )


def _page(
    request: HttpRequest,
    car: Car,
    *,
    form: RunForm | None,
    today: list[RunNoted],
    shown: RunNoted | None,
    number: int | None,
    weather: Weather | None,
) -> HttpResponse:
    by = person(request)
    units = by.units(car.team.club.units())
    now = car_now(car, by)
    context = {
        "car": car,
        "form": form,
        "asked": _asked(form, shown),
        "shown": show_run(shown, units) if shown else None,
        "title": run_title(shown) if shown else f"Run {number}",
        "today": [show_run(each, units) for each in today],
        "between": between(today, units) if shown is None or today[:1] == [shown] else None,
        "helped_url": _helped_url(car, today),
        "now": show_now(now, units) if now else None,
        "air": air_words(weather, units),
        "weather": weather,
        "no_sheet": NO_SHEET,
        "seen": _seen(shown) if shown else {},
        "damage_due": _damage_due(shown),
        "hit": damage_words(shown.details) if shown else "",
        "twin": show_run(twin, units) if shown and (twin := twin_of(shown, today)) else None,
        "marks": LAP_MARKS,
        **(_after(shown.run, by, units) if shown else {}),
    }
    status = 400 if form is not None and form.errors else 200
    return render(request, "cars/runs/track.html", context, status=status)


def _after(run: Run, by: User, units: Units) -> dict[str, Any]:
    """What was read after the run, which parts were on and the entry, as far as one may see."""
    return {
        "after": show_after(run, units),
        "parts_on": show_parts(run, by),
        "entry": entries_of([run]).get(run),
        "may_say_parts": is_allowed(check_can_note_run_parts, by, run),
    }


def _damage_due(shown: RunNoted | None) -> list[str]:
    if shown is None or not shown.details.damage:
        return []
    return steps_due(shown.details.damage_spots, cached_catalogue())


def _helped_url(car: Car, today: list[RunNoted]) -> str:
    """Where it is said whether the last change of the day helped; empty without laps around it.

    The page asks there once it is there itself: the answer weighs the record of two seasons.
    """
    groups = last_change(today)
    if groups is None:
        return ""
    before, after = groups
    query = QueryDict(mutable=True)
    query.setlist("before", [str(pk) for pk in before])
    query.setlist("after", [str(pk) for pk in after])
    return f"{reverse('did-it-help', args=[car.pk])}?{query.urlencode()}"


def _asked(form: RunForm | None, shown: RunNoted | None) -> list[dict[str, Any]]:
    """The five questions: what is chosen, what stood when the page was made, what is wrong."""
    if form is None:
        return []
    feel = shown.feels.get(Feel.SaidBy.DRIVER) if shown else None
    return [
        {
            "question": question,
            "chosen": form[question.name].value() or "",
            "stood": (getattr(feel, question.name) if feel else "") if shown else None,
            "errors": form[question.name].errors,
        }
        for question in questions()
    ]


def _seen(run: RunNoted) -> dict[str, str]:
    """What the page has of a run, to be sent back with it."""
    feels = {by: run.feels.get(by) for by in Feel.SaidBy.values}
    return {
        "details": str(run.details.pk),
        "laps": str(run.laps.pk) if run.laps else NOTHING_SEEN,
        **{by: str(feel.pk) if feel else NOTHING_SEEN for by, feel in feels.items()},
    }


def run_or_404(request: HttpRequest, pk: UUID) -> Run:
    """A run with what stands of it; a reader from outside stands in the team's trail."""
    found = run_or_none(pk)
    if found is None:
        raise Http404
    note_reader(person(request), found.team_id, found)
    return found


@login_required
def runs(request: HttpRequest, pk: UUID) -> HttpResponse:
    """All runs of a car, the newest first, so many a page."""
    car, by = car_or_404(request, pk), person(request)
    units = by.units(car.team.club.units())
    page, older = page_of(runs_of(car), A_PAGE, before_of(request.GET))
    context = {"car": car, "runs": [show_run(noted(each), units) for each in page], "older": older}
    return render(request, "cars/runs/runs.html", context)


@login_required
def change(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What was turned, moved or swapped: what and where, then which way and how much."""
    car, by = car_or_404(request, pk), person(request)
    check_can_open_sheet(by, car)
    sheet = set_sheet_of(car)
    chosen = adjustable_or_none(request.GET.get("what", ""))
    form = TrackChangeForm(request.POST or None)
    if chosen and request.method == "POST":
        each, spot = chosen
        change_of = {"adjuster": each.adjuster, "spot": spot, "unit": each.unit}
        if submit_action(form, note_track_change, by=by, sheet=sheet, **change_of):
            return redirect("car-track", pk=pk)
    units = by.units(car.team.club.units())
    context = {
        "car": car,
        "adjustable": ADJUSTABLE,
        "chosen": chosen[0] if chosen else None,
        "spot": chosen[1] if chosen else "",
        "ways": ways(chosen[0], units) if chosen else [],
        "form": form,
    }
    return render(request, "cars/runs/change.html", context, status=400 if form.errors else 200)


@login_required
@require_POST
def back(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Puts the changes that were named back, or all that stand."""
    car, by = car_or_404(request, pk), person(request)
    sheet = set_sheet_of(car)
    named = request.POST.getlist("change")
    chosen = [each for text in named if (each := id_or_none(text))] if named else None
    run_action(request, put_back, by=by, sheet=sheet, changes=chosen, done="Put back.")
    return redirect("car-track", pk=pk)


@login_required
@require_POST
def change_taken_back(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A change that was never made: a slip of the thumb."""
    row = TrackChange.objects.select_related("sheet__team").filter(pk=pk).first()
    if row is None:
        raise Http404
    done = "Taken back: it was never made."
    run_action(request, take_back_track_change, by=person(request), change=row, done=done)
    return redirect("car-track", pk=row.sheet.car_id)


@login_required
def strike(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A run that was none, or was noted twice."""
    found, by = run_or_404(request, pk), person(request)
    check_can_note_run(by, found)
    form = StrikeForm(request.POST or None)
    if submit_action(form, strike_run, by=by, run=found):
        return redirect("car-track", pk=found.car_id)
    lead = "It stays to be read, and counts for nothing: in no list, no comparison, no figure."
    back_url = reverse("run", args=[pk])
    return form_page(
        request,
        form,
        title="Strike this run",
        button="Strike it",
        lead=lead,
        back=back_url,
        back_to="The run",
    )
