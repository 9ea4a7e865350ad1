"""An evening in the garage: a bench is started, worked through step by step, and finished."""

from collections.abc import Sequence
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from cars.bench.actions import start_bench
from cars.bench.pages.forms import StartForm, StepChangeForm
from cars.bench.pages.parts import show_results
from cars.bench.pages.sent import seen_in, sent_form
from cars.bench.pages.sidebar import step_sidebar
from cars.bench.presenters.bench_view import BenchView, bench_view, first_open_step
from cars.bench.presenters.car_sections import car_sections
from cars.bench.presenters.evening import evening_of
from cars.bench.queries.open_benches import benches_to_go_on_with
from cars.lookups import car_or_404, sheet_or_404
from cars.models import Sheet
from cars.permissions import check_can_open_sheet, check_can_write_sheet
from cars.sheets.actions.replacing import put_back_reading
from cars.sheets.actions.save_boxes import save_boxes
from cars.sheets.actions.set_sheet import note_change, open_set_sheet
from cars.sheets.actions.sheets import ToTakeAgain, close_sheet
from cars.sheets.pages.boxes import SEEN
from cars.sheets.pages.messages import message_of_change
from cars.sheets.presenters.retakes import RetakeLine, retake_lines
from cars.sheets.queries.sheets import open_benches, set_sheet_of
from cars.sheets.queries.targets import target_sources
from clubsetup.access.errors import WrongState, is_allowed
from clubsetup.access.models import User
from clubsetup.clock.writing import minute
from clubsetup.site.pages import form_page, person, run_action, submit_action

CAUTION = (
    "The chassis maker's instructions, the club's rulebook and its appointed officials decide, "
    "not this page. People get hurt under cars: read the caution of each step."
)


def bench_or_404(sheet: Sheet, viewer: User, step: str) -> BenchView:
    """The bench of a sheet at a step of the catalogue."""
    try:
        return bench_view(sheet, viewer, step)
    except KeyError as error:
        raise Http404 from error


@login_required
def bench_start(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Starts a bench: where its targets come from, and whether the car is as found or as set."""
    car, by = car_or_404(request, pk), person(request)
    check_can_open_sheet(by, car)
    units = by.units(car.team.club.units())
    form = StartForm(request.POST or None, car=car, units=units, sources=target_sources(car))
    open_now = benches_to_go_on_with([car])
    if submit_action(form, start_bench, by=by, car=car):
        _tell_of(request, [each.sheet for each in open_now], form.outcome)
        return redirect("bench", pk=form.outcome.pk)
    back = reverse("car", args=[pk])
    title = f"Measure car {car.number}"
    return form_page(
        request,
        form,
        title=title,
        button="Measure",
        back=back,
        back_to=str(car),
        caution=CAUTION,
        template="cars/bench/start.html",
        open_now=open_now,
    )


def _tell_of(request: HttpRequest, before: Sequence[Sheet], opened: Sheet) -> None:
    """What was open of this kind already."""
    for each in before:
        if each.role == opened.role:
            since = minute(timezone.localtime(each.created_at))
            messages.warning(request, f"{each} is open too, since {since}. Finish it as well.")


@login_required
def bench(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Goes on where there is something to take."""
    sheet = sheet_or_404(request, pk)
    if sheet.state == Sheet.State.CLOSED:
        return redirect("bench-done", pk=pk)
    return redirect("bench-step", pk=pk, step=first_open_step(sheet, person(request)).pk)


@login_required
def bench_step(request: HttpRequest, pk: UUID, step: str) -> HttpResponse:
    """One step: what to measure and where, and the boxes for it."""
    sheet, by = sheet_or_404(request, pk), person(request)
    seen = bench_or_404(sheet, by, step)
    if request.method == "POST":
        return _take_form(request, sheet, by, seen)
    return step_page(request, seen)


def step_page(request: HttpRequest, seen: BenchView, status: int = 200) -> HttpResponse:
    """The page of a step as `seen` has it."""
    may_write = is_allowed(check_can_write_sheet, person(request), seen.sheet)
    step = seen.here.step
    context = {
        "sheet": seen.sheet,
        "bench": seen,
        "step": step,
        "editable": may_write and seen.sheet.state == Sheet.State.OPEN,
        "drawing": f"cars/bench/drawings/{step.pk}.svg",
        "seen_name": SEEN,
        "seen": seen_in(seen),
        "change_form": StepChangeForm(step=step),
        "set_sheet": set_sheet_of(seen.sheet) if seen.sheet.role == Sheet.Role.FOUND else None,
        "said": car_sections(seen.sheet.car_id, seen.sheet.team_id, person(request), step),
        **step_sidebar(seen, person(request)),
    }
    return render(request, "cars/bench/step.html", context, status=status)


def _take_form(request: HttpRequest, sheet: Sheet, by: User, seen: BenchView) -> HttpResponse:
    """Saves a plain form; what cannot be kept stays in its box with what to do about it."""
    check_can_write_sheet(by, sheet)
    results = save_boxes(by, sheet, sent_form(request.POST, seen), seen.known.measures)
    step = seen.here.step.pk
    if any(one.status != "saved" for one in results):
        now = bench_or_404(sheet, by, step)
        show_results(now, results, by)
        return step_page(request, now, status=409 if any(k.conflict for k in results) else 400)
    if "undo" in request.POST:
        return _put_back(request, sheet, by, seen)
    going = request.POST.get("go", "")
    if going and seen.next and going == seen.next.pk:
        step = going
    return (
        redirect("bench-done", pk=sheet.pk)
        if going == "done"
        else redirect("bench-step", pk=sheet.pk, step=step)
    )


def _put_back(request: HttpRequest, sheet: Sheet, by: User, seen: BenchView) -> HttpResponse:
    box = request.POST["undo"]
    take = next((t for t in seen.takes.values() if t.name == box), None)
    if take is not None:
        standing = take.reading.pk if take.reading else None
        run_action(
            request,
            put_back_reading,
            done="Put back.",
            by=by,
            sheet=sheet,
            key=take.key,
            seen=standing,
        )
    return redirect("bench-step", pk=sheet.pk, step=seen.here.step.pk)


@login_required
@require_POST
def bench_change(request: HttpRequest, pk: UUID, step: str) -> HttpResponse:
    """Notes something turned, moved or swapped in this step; later readings are asked for again."""
    sheet, by = sheet_or_404(request, pk), person(request)
    check_can_write_sheet(by, sheet)
    seen = bench_or_404(sheet, by, step)
    form = StepChangeForm(request.POST, step=seen.here.step)
    if submit_action(form, note_change, by=by, sheet=sheet):
        message = "Noted. The steps marked ↻ have something to retake."
        messages.success(request, message_of_change(form.outcome, sheet) or message)
        return redirect("bench-step", pk=form.outcome.sheet_id, step=step)
    back = reverse("bench-step", args=[pk, step])
    title = f"Note something you turned or swapped: {seen.here.step}"
    return form_page(request, form, title=title, button="Note it", back=back, back_to="The bench")


@login_required
def bench_done(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What is not taken, off or to be read again; then the sheet is closed, and followed."""
    return _done_page(request, sheet_or_404(request, pk))


def _done_page(
    request: HttpRequest, sheet: Sheet, again: Sequence[RetakeLine] = (), status: int = 200
) -> HttpResponse:
    """The end of a bench; `again` is what it asks about once more before it is closed."""
    evening = evening_of(sheet, person(request))
    names = ("sheet", "view", "may_close", "may_follow", "set_sheet", "newer")
    context = {name: getattr(evening, name) for name in names}
    return render(request, "cars/bench/done.html", {**context, "again": again}, status=status)


@login_required
@require_POST
def bench_close(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Closes the sheet; asks once more where something on it is to be taken again."""
    sheet, by = sheet_or_404(request, pk), person(request)
    again = request.POST.getlist("again")
    try:
        with transaction.atomic():
            close_sheet(by=by, sheet=sheet, again=again)
    except ToTakeAgain as asks:
        units = by.units(sheet.team.club.units())
        return _done_page(request, sheet, retake_lines(asks.boxes, units), status=409)
    except WrongState as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "The sheet is closed and stands.")
    return redirect("bench-done", pk=pk)


@login_required
@require_POST
def bench_follow(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Opens the sheet as set after the one as found."""
    sheet, by = sheet_or_404(request, pk), person(request)
    open_now = list(open_benches([sheet.car]))
    opened = run_action(
        request, open_set_sheet, done="The sheet as set is open.", by=by, sheet=sheet
    )
    if opened:
        _tell_of(request, open_now, opened)
    return redirect("bench", pk=opened.pk) if opened else redirect("bench-done", pk=pk)
