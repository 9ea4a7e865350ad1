"""The laps of a run: typed, pasted or from a file, and which of them count."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from cars.mechanics.laps import mark_laps
from cars.permissions import check_can_note_run
from cars.runs.actions.runs import TimedLaps, note_laps
from cars.runs.pages.forms import LapsForm, seen_of
from cars.runs.pages.track import run_or_404
from cars.runs.presenters.track import laps_text, marked_words, show_run
from cars.runs.queries.runs import noted
from cars.runs.queries.usual_spread import UsualSpread, usual_spread_of
from clubsetup.access.errors import Invalid
from clubsetup.site.pages import form_action, person, run_action


@login_required
def laps(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Laps in place of those that stood; what seems to be no racing lap is marked, and stays."""
    run, by = run_or_404(request, pk), person(request)
    check_can_note_run(by, run)
    shown = noted(run)
    initial = {"laps": laps_text(shown.laps)}
    if shown.laps:
        initial["timed_by"] = shown.laps.timed_by
    form = LapsForm(request.POST or None, request.FILES or None, initial=initial)
    if form.is_valid():
        times: list[Decimal] = form.cleaned_data["times"]
        usual = usual_spread_of(run, times)
        marks = proposed_marks(times, usual)
        given = TimedLaps(times, marks, form.cleaned_data["timed_by"], form.cleaned_data["text"])
        expected = seen_of(request.POST, "laps")
        if form_action(
            form, note_laps, by=by, run=run, laps=given if times else None, expected=expected
        ):
            messages.success(request, marked_words(marks, usual))
            return redirect("run", pk=pk)
    context = {
        "run": run,
        "car": run.car,
        "form": form,
        "shown": show_run(shown, by.units(run.team.club.units())),
        "seen": str(shown.laps.pk) if shown.laps else "none",
    }
    return render(request, "cars/runs/laps.html", context, status=400 if form.errors else 200)


def proposed_marks(times: list[Decimal], usual: UsualSpread | None) -> list[str]:
    """What each lap seems to be where it is no racing lap, by the driver's usual spread."""
    spread = usual.seconds if usual else None
    marks = mark_laps([float(each) for each in times], spread)
    return [(mark or "").replace(" ", "-") for mark in marks]


@login_required
@require_POST
def laps_counted(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Which laps count, by hand: each counts, or says why it does not."""
    run, by = run_or_404(request, pk), person(request)
    check_can_note_run(by, run)
    stood = noted(run).laps
    sent = request.POST.getlist("mark")
    if stood is None or len(sent) != len(stood.times):
        raise Invalid("mark", "Other laps are noted of this run by now. Look at them again.")
    given = TimedLaps(stood.times, sent, stood.timed_by, stood.typed)
    done = f"{sum(not mark for mark in sent)} laps count."
    expected: Any = seen_of(request.POST, "laps")
    run_action(request, note_laps, by=by, run=run, laps=given, expected=expected, done=done)
    return redirect("run", pk=pk)
