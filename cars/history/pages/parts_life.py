"""One part's life, what it came with, and the limits of a team and of a club."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from cars.history.actions.parts_life import remove_part_limit, set_part_limit, set_part_start
from cars.history.pages.part_forms import LimitForm, PartLimitForm, StartForm
from cars.history.presenters.parts_life import (
    SAFE,
    life_words,
    limit_lines,
    limit_shown,
    lives_by_car,
    part_name,
    untimed_words,
)
from cars.history.queries.parts_life import limits_of, lives, states
from cars.lookups import part_or_404, team_or_404
from cars.models import Car, PartLimit
from cars.permissions import check_can_see_parts
from clubsetup.access.errors import is_allowed
from clubsetup.site.pages import form_page, person, run_action, submit_action
from teams.models import Club
from teams.permissions import check_can_crew, check_can_steward
from teams.queries.reads import note_reader
from teams.queries.roles import roles_of


@login_required
def part(request: HttpRequest, pk: UUID) -> HttpResponse:
    """How long a part has run, on which cars, and its limits."""
    part, by = part_or_404(pk), person(request)
    check_can_see_parts(by, part.team)
    note_reader(by, part.team_id, part)
    life = lives([part], part.team)[part.pk]
    cars = Car.objects.filter(pk__in=life.by_car)
    context = {
        "part": part,
        "name": part_name(part),
        "life": life,
        "says": life_words(life),
        "untimed": untimed_words(life),
        "cars": lives_by_car(life, {car.pk: car for car in cars}),
        "limits": [limit_shown(state) for state in states(life, limits_of(part.team))],
        "may_crew": is_allowed(check_can_crew, by, part.team),
        "safe": SAFE,
    }
    return render(request, "cars/history/part.html", context)


@login_required
def part_start(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What the part came with."""
    part, by = part_or_404(pk), person(request)
    check_can_crew(by, part.team)
    stands = part.starts.filter(replaced_at=None).first()
    names = ("nights", "runs", "laps", "hours")
    initial = {name: getattr(stands, name) for name in names} if stands else {}
    form = StartForm(request.POST or None, initial=initial)
    if submit_action(form, set_part_start, by=by, part=part):
        messages.success(request, "Kept: it counts from there.")
        return redirect("part", pk=pk)
    lead = "What it had run before the team noted runs with it. Leave empty what nobody knows."
    return form_page(
        request,
        form,
        title="What it came with",
        button="Save",
        lead=lead,
        back=reverse("part", args=[pk]),
        back_to=part_name(part),
    )


@login_required
def part_limit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A limit of the team for this one part."""
    part, by = part_or_404(pk), person(request)
    check_can_crew(by, part.team)
    form = PartLimitForm(request.POST or None)
    if submit_action(form, set_part_limit, by=by, team=part.team, part=part, sort=part.sort):
        messages.success(request, "Kept. It is told before the limit is near.")
        return redirect("part", pk=pk)
    return form_page(
        request,
        form,
        title=f"A limit for {part_name(part)}",
        button="Save",
        lead=SAFE,
        back=reverse("part", args=[pk]),
        back_to=part_name(part),
    )


@login_required
def part_limits(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What a team and its club say of how long parts may run."""
    team, by = team_or_404(pk), person(request)
    check_can_see_parts(by, team)
    limits = limits_of(team)
    context = {
        "team": team,
        "own": limit_lines(each for each in limits if each.team_id and not each.part_id),
        "of_club": limit_lines(each for each in limits if each.club_id),
        "may_write": is_allowed(check_can_crew, by, team),
        "add_url": reverse("part-limit-new", args=[pk]),
        "safe": SAFE,
    }
    return render(request, "cars/history/part_limits.html", context)


@login_required
def part_limit_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A limit of a team for every part of a sort."""
    team, by = team_or_404(pk), person(request)
    check_can_crew(by, team)
    form = LimitForm(request.POST or None)
    if submit_action(form, set_part_limit, by=by, team=team):
        return redirect("part-limits", pk=pk)
    return form_page(
        request,
        form,
        title=f"A limit of {team}",
        button="Save",
        lead=SAFE,
        back=reverse("part-limits", args=[pk]),
        back_to="Limits of parts",
    )


def _club(request: HttpRequest, pk: UUID) -> Club:
    """A club the reader is a member of; of any other an address says nothing."""
    return get_object_or_404(
        Club.objects.filter(pk__in=roles_of(person(request)).member_clubs), pk=pk
    )


@login_required
def club_part_limits(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What a club says of how long parts may run."""
    club = _club(request, pk)
    context = {
        "club": club,
        "of_club": limit_lines(PartLimit.objects.current().filter(club=club)),
        "may_write": is_allowed(check_can_steward, person(request), club),
        "add_url": reverse("club-part-limit-new", args=[pk]),
        "safe": SAFE,
    }
    return render(request, "cars/history/part_limits.html", context)


@login_required
def club_part_limit_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A limit of a club for every part of a sort."""
    club, by = _club(request, pk), person(request)
    check_can_steward(by, club)
    form = LimitForm(request.POST or None)
    if submit_action(form, set_part_limit, by=by, club=club):
        return redirect("club-part-limits", pk=pk)
    return form_page(
        request,
        form,
        title=f"A limit of {club}",
        button="Save",
        lead=f"Told to every team of the club. {SAFE}",
        back=reverse("club-part-limits", args=[pk]),
        back_to="Limits of parts",
    )


@login_required
@require_POST
def part_limit_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The limit no longer holds."""
    joined = ("team__club", "club", "part")
    limit = get_object_or_404(PartLimit.objects.select_related(*joined), pk=pk)
    done = "The limit is taken away."
    run_action(request, remove_part_limit, done=done, by=person(request), limit=limit)
    if limit.part_id:
        return redirect("part", pk=limit.part_id)
    if limit.club_id:
        return redirect("club-part-limits", pk=limit.club_id)
    return redirect("part-limits", pk=limit.team_id)
