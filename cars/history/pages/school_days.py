"""Plans for school days: a coach writes them, the families see their own outings."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from cars.history.actions import school_days as actions
from cars.history.pages.school_day_forms import (
    NewSchoolDayForm,
    OutingForm,
    SchoolDayForm,
    SendOutForm,
    initial_of,
)
from cars.history.presenters.school_days import day_title, outing_lines
from cars.history.queries.school_days import (
    cars_to_send,
    coach_clubs,
    outings_of,
    school_days_of,
    settings_for,
)
from cars.models import Outing, SchoolDay
from cars.permissions import check_can_plan_day
from clubsetup.access.errors import is_allowed
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import confirm_page, form_page, person, run_action, submit_action
from teams.models import Club
from teams.queries.reads import note_readers

A_PAGE = 40


@login_required
def school_days(request: HttpRequest) -> HttpResponse:
    """One's own plans and those one's cars are in, the newest first."""
    by = person(request)
    page, older = page_of(school_days_of(by), A_PAGE, before_of(request.GET))
    lines = [(row, day_title(row), row.by_id == by.pk) for row in page]
    context = {"lines": lines, "older": older, "clubs": coach_clubs(by)}
    return render(request, "cars/history/school_days.html", context)


@login_required
def school_day_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A coach of the club begins a plan."""
    club, by = get_object_or_404(Club, pk=pk), person(request)
    if club not in coach_clubs(by):
        raise Http404
    form = NewSchoolDayForm(request.POST or None, club=club, cars=cars_to_send(by))
    if submit_action(form, actions.plan_school_day, by=by, club=club):
        messages.success(request, "The plan is begun. Nobody else sees it until you show it.")
        return redirect("school-day", pk=form.outcome.pk)
    return form_page(
        request,
        form,
        title="Plan a school day",
        button="Begin the plan",
        back=reverse("school-days"),
        back_to="School days",
    )


def school_day_or_404(pk: UUID) -> SchoolDay:
    """A plan that whoever looks may see."""
    rows = SchoolDay.objects.select_related("club", "track", "by")
    return get_object_or_404(rows, pk=pk)


def outing_or_404(pk: UUID) -> Outing:
    """An outing with its plan."""
    joined = ("school_day__club", "car__chassis", "team", "driver", "sheet__car", "baseline")
    return get_object_or_404(Outing.objects.select_related(*joined), pk=pk)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def school_day(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The plan; its coach sends one more car out here."""
    row, by = school_day_or_404(pk), person(request)
    may_plan = is_allowed(check_can_plan_day, by, row)
    form = None
    if request.method == "POST":
        check_can_plan_day(by, row)
    if may_plan:
        form = SendOutForm(request.POST or None, cars=cars_to_send(by))
        if submit_action(form, actions.send_out, by=by, school_day=row):
            return redirect("outing", pk=form.outcome.pk)
    outings = outings_of(row)
    note_readers(by, (outing.team_id for outing in outings))
    context: dict[str, Any] = {
        "school_day": row,
        "title": day_title(row),
        "lines": outing_lines(outings),
        "may_plan": may_plan,
        "form": form,
        "show_or_hide": reverse(
            "school-day-hide" if row.shown_at else "school-day-show", args=[row.pk]
        ),
    }
    status = 400 if form and form.errors else 200
    return render(request, "cars/history/school_day.html", context, status=status)


@login_required
def school_day_change(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Another day, track, name or word to all."""
    row, by = school_day_or_404(pk), person(request)
    check_can_plan_day(by, row)
    names = ("name", "day", "track", "note")
    initial = {name: getattr(row, name) for name in names}
    form = SchoolDayForm(request.POST or None, club=row.club, initial=initial)
    if submit_action(form, actions.change_school_day, by=by, school_day=row):
        return redirect("school-day", pk=pk)
    return form_page(
        request,
        form,
        title="Change the day",
        button="Save it",
        back=reverse("school-day", args=[pk]),
        back_to=str(row),
    )


@login_required
@require_POST
def school_day_show(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The families see their outings from now on."""
    done = "Each family whose car is in it sees its own outings now, and the word to all."
    row = school_day_or_404(pk)
    run_action(request, actions.show_school_day, done=done, by=person(request), school_day=row)
    return redirect("school-day", pk=pk)


@login_required
@require_POST
def school_day_hide(request: HttpRequest, pk: UUID) -> HttpResponse:
    """They see it no more."""
    row = school_day_or_404(pk)
    done = "No family sees the plan until you show it again."
    run_action(request, actions.hide_school_day, done=done, by=person(request), school_day=row)
    return redirect("school-day", pk=pk)


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def school_day_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Asks, then takes the whole plan away."""
    row, by = school_day_or_404(pk), person(request)
    check_can_plan_day(by, row)
    if request.method == "POST":
        done = f"The plan for {row} is gone."
        run_action(request, actions.remove_school_day, done=done, by=by, school_day=row)
        return redirect("school-days")
    return confirm_page(
        request,
        title=f"Take away the plan for {row}?",
        lead="Its order, drivers and words go. No sheet, no driver and no car goes with it.",
        button="Take the plan away",
        safe="Keep it",
        back=reverse("school-day", args=[pk]),
        back_to=str(row),
    )


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def outing(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Who drives, and what the car is set to."""
    row, by = outing_or_404(pk), person(request)
    check_can_plan_day(by, row.school_day)
    form = OutingForm(
        request.POST or None, outing=row, offered=settings_for(row.car), initial=initial_of(row)
    )
    if submit_action(form, actions.change_outing, by=by, outing=row):
        return redirect("school-day", pk=row.school_day_id)
    return form_page(
        request,
        form,
        title=f"Outing {row.order}: car {row.car}, {row.team}",
        button="Save it",
        back=reverse("school-day", args=[row.school_day_id]),
        back_to=str(row.school_day),
    )


@login_required
@require_POST
def outing_move(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One place earlier, or later."""
    row, earlier = outing_or_404(pk), request.POST.get("way") == "earlier"
    done = f"Car {row.car} goes out {'earlier' if earlier else 'later'}."
    by = person(request)
    run_action(request, actions.move_outing, done=done, by=by, outing=row, earlier=earlier)
    return redirect("school-day", pk=row.school_day_id)


@login_required
@require_POST
def outing_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The car does not go out this time."""
    row = outing_or_404(pk)
    done = f"Outing {row.order} of car {row.car} is taken out; those after it moved up."
    run_action(request, actions.remove_outing, done=done, by=person(request), outing=row)
    return redirect("school-day", pk=row.school_day_id)
