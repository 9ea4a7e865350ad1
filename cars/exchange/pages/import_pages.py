"""Bringing in a file: sent, looked at, confirmed, watched, withdrawn."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from cars.exchange.actions.import_sending import KEPT_DAYS
from cars.exchange.actions.imports import (
    begin_import,
    choose_columns,
    confirm_import,
    drop_import,
    withdraw_import,
)
from cars.exchange.pages.import_forms import ImportForm
from cars.exchange.presenters.import_view import came_to, show_draft, show_progress
from cars.exchange.queries.imports import archive_of, imports_of
from cars.lookups import car_or_404, team_or_404
from cars.models import Import
from cars.permissions import check_can_import
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import confirm_page, form_action, person, run_action
from teams.permissions import check_can_crew

A_PAGE = 25


@login_required
def car_imports(request: HttpRequest, pk: UUID) -> HttpResponse:
    """From a car to the imports of its team."""
    return redirect("imports", pk=car_or_404(request, pk).team_id)


@login_required
def imports(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A team's imports, and the form for another."""
    team, by = team_or_404(pk), person(request)
    check_can_crew(by, team)
    form = ImportForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        names = ("kind", "timed_by", "file_name", "content")
        given = {name: form.cleaned_data[name] for name in names}
        if form_action(form, begin_import, by=by, team=team, **given):
            return redirect("import", pk=form.outcome.pk)
    rows, older = page_of(imports_of(team), A_PAGE, before_of(request.GET))
    context = {"team": team, "form": form, "rows": rows, "older": older, "days": KEPT_DAYS}
    status = 400 if form.errors else 200
    return render(request, "cars/exchange/imports.html", context, status=status)


def import_or_404(request: HttpRequest, pk: UUID) -> Import:
    """An import with its team."""
    row = get_object_or_404(Import.objects.select_related("team__club", "by"), pk=pk)
    check_can_import(person(request), row)
    return row


@login_required
@never_cache
def import_page(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One import: its columns and problems, how far it is, or what it came to. What the columns
    are for is sent here."""
    row, by = import_or_404(request, pk), person(request)
    if request.method == "POST":
        columns = request.POST.getlist("column")
        done = "Read again with these columns."
        run_action(request, choose_columns, by=by, row=row, columns=columns, done=done)
        return redirect("import", pk=pk)
    context: dict[str, Any] = {"row": row, "team": row.team, "days": KEPT_DAYS}
    if row.state == Import.State.DRAFT:
        context["draft"] = show_draft(row, by)
    elif row.state == Import.State.DONE:
        context["came_to"] = came_to(row)
        context["archive"] = archive_of(row)
    else:
        context["progress"] = show_progress(row)
    return render(request, "cars/exchange/import.html", context)


@login_required
@require_GET
@never_cache
def import_state(request: HttpRequest, pk: UUID) -> HttpResponse:
    """How far an import is; when it is over, the page again."""
    row = import_or_404(request, pk)
    if row.state not in (Import.State.WAITING, Import.State.WORKING):
        answer = HttpResponse(status=204)
        answer["HX-Redirect"] = reverse("import", args=[pk])
        return answer
    context = {"row": row, "progress": show_progress(row)}
    return render(request, "cars/exchange/_import_progress.html", context)


@login_required
@require_POST
def import_confirm(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Brings it in."""
    row = import_or_404(request, pk)
    done = "Confirmed."
    done_row = run_action(request, confirm_import, by=person(request), row=row, done=done)
    if done_row is not None and done_row.state == Import.State.DONE:
        messages.success(request, f"{came_to(done_row)} brought in.")
    return redirect("import", pk=pk)


@login_required
@require_POST
def import_drop(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Not to be brought in after all."""
    row = import_or_404(request, pk)
    done = "Dropped: nothing was brought in."
    run_action(request, drop_import, by=person(request), row=row, done=done)
    return redirect("imports", pk=row.team_id)


@login_required
def import_withdraw(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Asks, then withdraws."""
    row = import_or_404(request, pk)
    if request.method == "POST":
        done = "Withdrawn: what it brought in stands on no page any more."
        run_action(request, withdraw_import, by=person(request), row=row, done=done)
        return redirect("import", pk=pk)
    return confirm_page(
        request,
        title=f"Withdraw {row}?",
        lead=f"{came_to(row)} that it brought in are hidden from every list, for everybody. "
        "It cannot be undone; the file can be brought in once more.",
        button="Withdraw",
        safe="Leave it as it is",
        back=reverse("import", args=[pk]),
        back_to=str(row),
    )
