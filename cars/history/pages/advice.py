"""Coaches' advice: all one may read, that of one car, and one with its thread."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from cars.catalogue.queries import catalogue
from cars.history.actions.advice import leave_advice, reply_to_advice, tick_off_advice
from cars.history.pages.forms import AdviceForm, ReplyForm
from cars.history.presenters.advice import advice_line, advice_lines, since_shown
from cars.history.queries.advice import advice_of_teams, since, with_heads
from cars.lookups import car_or_404
from cars.models import Advice
from cars.permissions import check_can_advise, check_can_reply, check_can_tick_off
from clubsetup.access.errors import is_allowed
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import form_page, person, run_action, submit_action
from teams.lookups import read_or_404
from teams.queries.reads import note_readers
from teams.queries.roles import roles_of

A_PAGE = 40


@login_required
def advice_list(request: HttpRequest) -> HttpResponse:
    """All advice to one's teams and to those one coaches, the newest first."""
    by = person(request)
    rows = with_heads(advice_of_teams(roles_of(by).readable_teams)).order_by("-id")
    page, older = page_of(rows, A_PAGE, before_of(request.GET))
    note_readers(by, (row.team_id for row in page))
    context = {"lines": advice_lines(page, by), "older": older}
    return render(request, "cars/history/advice_list.html", context)


@login_required
def car_advice(request: HttpRequest, pk: UUID) -> HttpResponse:
    """All advice on one car while this team has it."""
    car, by = car_or_404(request, pk), person(request)
    rows = with_heads(Advice.objects.filter(car=car, team=car.team_id)).order_by("-id")
    page, older = page_of(rows, A_PAGE, before_of(request.GET))
    context = {
        "car": car,
        "lines": advice_lines(page, by),
        "older": older,
        "may_advise": is_allowed(check_can_advise, by, car),
    }
    return render(request, "cars/history/advice_list.html", context)


@login_required
def car_advise(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A coach leaves advice; `box` in the address says of which figure."""
    car, by = car_or_404(request, pk), person(request)
    check_can_advise(by, car)
    units = by.units(car.team.club.units())
    initial = {"box": request.GET.get("box", "")}
    form = AdviceForm(request.POST or None, known=catalogue(), units=units, initial=initial)
    if submit_action(form, leave_advice, by=by, car=car):
        messages.success(request, f"Left for {car.team}: it stands on their pages of the car.")
        return redirect("advice", pk=form.outcome.pk)
    title, back = f"Advice for {car}, {car.team}", reverse("car", args=[pk])
    return form_page(request, form, title=title, button="Leave advice", back=back, back_to=str(car))


def advice_or_404(request: HttpRequest, pk: UUID) -> Advice:
    """Advice with what its head names; a reader from outside stands in the team's trail."""
    rows = Advice.objects.select_related("car", "team__club", "by", "done_by", "measure")
    return read_or_404(person(request), rows, pk)


@login_required
def advice(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One piece of advice, what was said to it, and what came of it; an answer is sent here."""
    row, by = advice_or_404(request, pk), person(request)
    if request.method == "POST":
        check_can_reply(by, row)
    form = ReplyForm(request.POST or None)
    if submit_action(form, reply_to_advice, by=by, advice=row):
        return redirect("advice", pk=pk)
    context = {
        "line": advice_line(row, by),
        "replies": row.replies.select_related("by"),
        "since": since_shown(row, since(row), by),
        "form": form,
        "may_reply": is_allowed(check_can_reply, by, row),
        "may_tick_off": is_allowed(check_can_tick_off, by, row),
    }
    status = 400 if form.errors else 200
    return render(request, "cars/history/advice.html", context, status=status)


@login_required
@require_POST
def advice_tick_off(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Done, or not to be done."""
    row = advice_or_404(request, pk)
    done = "Ticked off: it stands on no page of the car any more."
    run_action(request, tick_off_advice, done=done, by=person(request), advice=row)
    return redirect("advice", pk=pk)
