"""A team's parts under its own marks, and its ballast pieces."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from cars.garage.actions.ballast import add_ballast_piece, retire_ballast_piece
from cars.garage.actions.parts import add_part, set_part_code
from cars.garage.pages.forms import CodeForm, MovePieceForm, PartForm, PieceForm
from cars.garage.presenters.part_notes import part_notes
from cars.lookups import part_or_404, piece_or_404, team_or_404
from cars.models import BallastPiece, Part
from cars.sheets.actions.ballast import move_ballast_piece
from clubsetup.access.errors import NotAllowed, is_allowed
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import confirm_page, form_page, person, run_action, submit_action
from teams.permissions import check_can_crew
from teams.queries.roles import roles_of

A_PAGE = 40
FIXED = "Ballast that comes loose is a missile: bolt every piece through, with locking nuts."


@login_required
def parts(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The parts of a team."""
    team, by = team_or_404(pk), person(request)
    if not roles_of(by).may_see_codes(team.pk):
        raise NotAllowed(f"The codes of {team} are its own.")
    rows = Part.objects.filter(team=team).select_related("code").order_by("sort", "code__code")
    page, more = page_of(rows, A_PAGE, before_of(request.GET))
    may_crew = is_allowed(check_can_crew, by, team)
    notes = part_notes(page, team)
    lines = [(part, notes[part.pk]) for part in page]
    context = {"team": team, "parts": lines, "more": more, "may_crew": may_crew}
    return render(request, "cars/garage/parts.html", context)


@login_required
def part_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    team, by = team_or_404(pk), person(request)
    check_can_crew(by, team)
    form = PartForm(request.POST or None, units=by.units(team.club.units()))
    if submit_action(form, add_part, by=by, team=team):
        return redirect("parts", pk=pk)
    back = reverse("parts", args=[pk])
    return form_page(
        request, form, title="A part", button="Add it", back=back, back_to=f"Parts of {team}"
    )


@login_required
def part_code(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Sets the mark on a part."""
    part, by = part_or_404(pk), person(request)
    check_can_crew(by, part.team)
    code = getattr(part, "code", None)
    initial = {"code": code.code, "note": code.note} if code else {}
    form = CodeForm(request.POST or None, initial=initial)
    if submit_action(form, set_part_code, by=by, part=part):
        return redirect("parts", pk=part.team_id)
    back = reverse("parts", args=[part.team_id])
    return form_page(request, form, title="Its code", button="Save", back=back, back_to="Parts")


@login_required
def ballast(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The ballast pieces of a team, on its cars and on the shelf."""
    team, by = team_or_404(pk), person(request)
    roles = roles_of(by)
    if not (roles.is_member(team.pk) or team.pk in roles.coached):
        raise NotAllowed(f"The ballast of {team} is its own.")
    rows = BallastPiece.objects.filter(team=team).select_related("car", "mount")
    rows = rows.in_use().order_by("car__number", "label")
    pieces, more = page_of(rows, A_PAGE, before_of(request.GET))
    context = {
        "team": team,
        "pieces": pieces,
        "more": more,
        "may_crew": is_allowed(check_can_crew, by, team),
        "caution": FIXED,
    }
    return render(request, "cars/garage/ballast.html", context)


@login_required
def piece_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    team, by = team_or_404(pk), person(request)
    check_can_crew(by, team)
    form = PieceForm(request.POST or None, team=team, units=by.units(team.club.units()))
    if submit_action(form, add_ballast_piece, by=by, team=team):
        return redirect("ballast", pk=pk)
    return form_page(
        request,
        form,
        title="A ballast piece",
        button="Add it",
        back=reverse("ballast", args=[pk]),
        back_to=f"Ballast of {team}",
        caution=FIXED,
    )


@login_required
def piece_move(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Fixes a piece to a car, or puts it on the shelf."""
    piece, by = piece_or_404(pk), person(request)
    check_can_crew(by, piece.team)
    initial = {"car": piece.car_id, "mount": piece.mount_id}
    form = MovePieceForm(request.POST or None, team=piece.team, initial=initial)
    if submit_action(form, move_ballast_piece, by=by, piece=piece):
        return redirect("ballast", pk=piece.team_id)
    return form_page(
        request,
        form,
        title=f"Move {piece}",
        button="Move it",
        back=reverse("ballast", args=[piece.team_id]),
        back_to="Ballast",
        caution=FIXED,
    )


@login_required
@require_http_methods(["GET", "POST"])
def piece_retire(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a piece out of use, after asking."""
    piece = piece_or_404(pk)
    by = person(request)
    check_can_crew(by, piece.team)
    if request.method == "GET":
        return confirm_page(
            request,
            title=f"Retire the piece {piece}?",
            lead="It comes off its car and leaves the list, and cannot be brought back. A piece "
            "that only comes off a car is moved to the shelf instead.",
            button="Retire it",
            safe="Keep it",
            back=reverse("ballast", args=[piece.team_id]),
            back_to=f"Ballast of {piece.team}",
        )
    run_action(request, retire_ballast_piece, done="The piece is retired.", by=by, piece=piece)
    return redirect("ballast", pk=piece.team_id)
