"""The coach's board of a chassis."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from cars.history.presenters.board import board_shown
from cars.history.queries.board import OLD_AFTER, board_of, coached_chassis
from cars.lookups import chassis_or_404
from clubsetup.access.errors import Invalid
from clubsetup.site.pages import person
from teams.models import Surface
from teams.queries.reads import note_readers


@login_required
def boards(request: HttpRequest) -> HttpResponse:
    """The chassis of the cars one coaches."""
    found = coached_chassis(person(request))
    if not found:
        raise Http404
    return render(request, "cars/history/boards.html", {"chassis": found})


@login_required
def board(request: HttpRequest, pk: UUID) -> HttpResponse:
    """All linked cars of a chassis on a surface; there is none for whoever coaches none of them."""
    by, surface = person(request), request.GET.get("surface", Surface.PAVED)
    if surface not in Surface.values:
        raise Invalid("surface", "Choose paved or dirt.")
    found = board_of(by, chassis_or_404(pk), surface, timezone.localdate())
    if found is None:
        raise Http404
    note_readers(by, (one.car.team_id for one in found.cars))
    context = {
        "shown": board_shown(found, by),
        "board": found,
        "surfaces": Surface.choices,
        "old_days": OLD_AFTER.days,
    }
    return render(request, "cars/history/board.html", context)
