"""Tables of suggestions: the club's by its stewards, a coach's own, a team's own."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from cars.lookups import suggestion_or_404, suggestion_table_or_404, team_or_404
from cars.models import Suggestion, SuggestionTable
from cars.permissions import check_can_coach, check_can_keep_suggestions
from cars.runs.actions import suggestions as actions
from cars.runs.pages.suggestion_forms import (
    DraftSuggestionsForm,
    PublishSuggestionsForm,
    SuggestionForm,
    initial_of,
)
from cars.runs.presenters.suggestions import show_table, table_lines, table_title
from cars.runs.queries.suggestions import (
    section_of,
    tables_for,
    tables_of_club,
    tables_of_coach,
    tables_of_team,
)
from clubsetup.access.errors import WrongState, is_allowed
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import confirm_page, form_page, person, run_action, submit_action
from teams.models import Club
from teams.permissions import check_can_crew, check_can_steward
from teams.queries.reads import note_reader
from teams.queries.roles import roles_of

A_PAGE = 20
FEW_ROWS = 12
DRAFT, PUBLISHED = SuggestionTable.State.DRAFT, SuggestionTable.State.PUBLISHED


@login_required
def club_suggestions(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A club's tables, and a coach's own for the teams that link to them."""
    club, by = get_object_or_404(Club.objects, pk=pk), person(request)
    is_coach = is_allowed(check_can_coach, by, club)
    own = tables_of_coach(by, club) if is_coach else SuggestionTable.objects.none()
    context = {
        "club": club,
        **_page_of(request, "tables", tables_of_club(club)),
        **_page_of(request, "own", own),
        "may_steward": is_allowed(check_can_steward, by, club),
        "is_coach": is_coach,
    }
    return render(request, "cars/runs/club_suggestions.html", context)


@login_required
def team_suggestions(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A team's own tables, and those of its coaches and its club that it goes by below them."""
    team, by = team_or_404(pk), person(request)
    if pk not in roles_of(by).readable_teams:
        raise Http404
    note_reader(by, pk, team)
    context = {
        "team": team,
        **_page_of(request, "tables", tables_of_team(team)),
        "below": table_lines(table for table in tables_for(team) if table.team_id is None),
        "may_crew": is_allowed(check_can_crew, by, team),
    }
    return render(request, "cars/runs/team_suggestions.html", context)


def _page_of(request: HttpRequest, name: str, rows: Any) -> dict[str, Any]:
    """One of the page's lists, each of which goes on by itself."""
    page, more = page_of(rows, A_PAGE, before_of(request.GET, name), name)
    return {name: table_lines(page), f"more_{name}": more}


@login_required
def club_suggestions_draft(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A steward begins the next version of the club's table."""
    club = get_object_or_404(Club.objects, pk=pk)
    return _draft(request, SuggestionTable(club=club), reverse("club-suggestions", args=[pk]))


@login_required
def coach_suggestions_draft(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A coach begins the next version of their own table."""
    club = get_object_or_404(Club.objects, pk=pk)
    table = SuggestionTable(club=club, coach=person(request))
    return _draft(request, table, reverse("club-suggestions", args=[pk]))


@login_required
def team_suggestions_draft(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A crew begins the next version of the team's own table."""
    team = team_or_404(pk)
    table = SuggestionTable(club=team.club, team=team)
    return _draft(request, table, reverse("team-suggestions", args=[pk]))


def _draft(request: HttpRequest, whose: SuggestionTable, back: str) -> HttpResponse:
    by = person(request)
    check_can_keep_suggestions(by, whose)
    owner = {"club": whose.club, "team": whose.team, "coach": whose.coach}
    is_published = SuggestionTable.objects.filter(**owner, state=PUBLISHED).exists()
    form = DraftSuggestionsForm(request.POST or None, is_published=is_published)
    if submit_action(form, actions.draft_suggestions, by=by, **owner):
        return redirect("suggestion-table", pk=form.outcome.pk)
    title = f"Suggestions of {whose.coach or whose.team or whose.club}"
    named = {"title": title, "button": "Start the draft", "back": back, "back_to": "Suggestions"}
    lead = "Nobody else goes by a draft: it counts once it is published."
    return form_page(request, form, lead=lead, **named)


@login_required
def suggestion_table(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A table by the place in the corner; those whose it is fill a draft here."""
    table, by = suggestion_table_or_404(request, pk), person(request)
    may_keep = is_allowed(check_can_keep_suggestions, by, table)
    view = show_table(table, by)
    all_of_it = [section.slug for section in view.sections] if view.count <= FEW_ROWS else []
    context = {
        "table": table,
        "view": view,
        # A long table is folded but for the place somebody is at work in.
        "opened": all_of_it or request.GET.getlist("open"),
        "may_keep": may_keep,
        "is_filled_here": may_keep and table.state == DRAFT,
        "back": _list_of(table),
    }
    return render(request, "cars/runs/suggestion_table.html", context)


def _list_of(table: SuggestionTable) -> str:
    if table.team_id is not None:
        return reverse("team-suggestions", args=[table.team_id])
    return reverse("club-suggestions", args=[table.club_id])


@login_required
def suggestion_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A row at the end of a draft."""
    table, by = suggestion_table_or_404(request, pk), person(request)
    check_can_keep_suggestions(by, table)
    form = SuggestionForm(request.POST or None)
    if submit_action(form, actions.add_suggestion, by=by, table=table):
        return _back_to(form.outcome)
    return _row_page(request, form, table, title="A suggestion", button="Add it")


@login_required
def suggestion_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Changes a row of a draft."""
    row, by = suggestion_or_404(pk), person(request)
    check_can_keep_suggestions(by, row.table)
    form = SuggestionForm(request.POST or None, initial=initial_of(row))
    if submit_action(form, actions.change_suggestion, by=by, suggestion=row):
        return _back_to(form.outcome)
    return _row_page(request, form, row.table, title="Change a suggestion", button="Change it")


def _back_to(row: Suggestion) -> HttpResponse:
    """The table, unfolded where this row stands."""
    slug = section_of(row)
    return redirect(f"{reverse('suggestion-table', args=[row.table_id])}?open={slug}#{slug}")


def _row_page(
    request: HttpRequest, form: forms.Form, table: SuggestionTable, *, title: str, button: str
) -> HttpResponse:
    return form_page(
        request,
        form,
        title=title,
        button=button,
        lead="All that a row names must be felt; what it leaves open may be anything.",
        back=reverse("suggestion-table", args=[table.pk]),
        back_to=table_title(table),
    )


@login_required
@require_POST
def suggestion_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a row out of a draft."""
    row, by = suggestion_or_404(pk), person(request)
    back = _back_to(row)
    run_action(request, actions.remove_suggestion, done="Taken out.", by=by, suggestion=row)
    return back


@login_required
@require_POST
def suggestion_move(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Puts a row of a draft one up or one down among those for the same place in the corner."""
    row, by = suggestion_or_404(pk), person(request)
    up = request.POST.get("way") == "up"
    done = "Moved up." if up else "Moved down."
    run_action(request, actions.move_suggestion, done=done, by=by, suggestion=row, up=up)
    return _back_to(row)


@login_required
@require_http_methods(["GET", "POST"])
def suggestions_throw_away(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Throws a draft away, after asking."""
    table, by = suggestion_table_or_404(request, pk), person(request)
    check_can_keep_suggestions(by, table)
    if table.state != DRAFT:
        raise WrongState(actions.IS_PUBLISHED)
    if request.method == "GET":
        rows = table.suggestions.count()
        return confirm_page(
            request,
            title=f"Throw {table_title(table)} away?",
            lead=f"This draft and its {rows} suggestion{'' if rows == 1 else 's'} are gone for "
            "good. What is in force stays in force.",
            button="Throw it away",
            safe="Keep the draft",
            back=reverse("suggestion-table", args=[pk]),
            back_to=table_title(table),
        )
    back = _list_of(table)
    run_action(request, actions.throw_away_draft, done="Thrown away.", by=by, table=table)
    return redirect(back)


@login_required
def suggestions_publish(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Puts a draft in force, after asking what it changes."""
    table, by = suggestion_table_or_404(request, pk), person(request)
    check_can_keep_suggestions(by, table)
    form = PublishSuggestionsForm(request.POST or None, initial={"note": table.note})
    if submit_action(form, actions.publish_suggestions, by=by, table=table):
        messages.success(request, "These suggestions are in force.")
        return redirect("suggestion-table", pk=pk)
    return form_page(
        request,
        form,
        title=f"Publish version {table.version}?",
        button=f"Put version {table.version} in force",
        lead="A published version never changes; the next one replaces it.",
        back=reverse("suggestion-table", args=[pk]),
        back_to=table_title(table),
    )


@login_required
@require_http_methods(["GET", "POST"])
def suggestions_retire(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a table out of force, after asking."""
    table, by = suggestion_table_or_404(request, pk), person(request)
    check_can_keep_suggestions(by, table)
    if request.method == "GET":
        return confirm_page(
            request,
            title=f"Retire {table_title(table)}?",
            lead="Nothing of it is suggested any more. It stays to be read, and the next version "
            "can be drafted at any time.",
            button="Retire it",
            safe="Keep it in force",
            back=reverse("suggestion-table", args=[pk]),
            back_to=table_title(table),
        )
    run_action(request, actions.retire_suggestions, done="Retired.", by=by, table=table)
    return redirect("suggestion-table", pk=pk)
