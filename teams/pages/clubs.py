"""A club's page, and what its stewards change on it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from clubsetup.access.errors import is_allowed
from clubsetup.quantities.units import Units
from clubsetup.site.forms import UnitsForm
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import confirm_page, form_page, person, run_action, submit_action
from teams.actions import clubs, places, teams
from teams.actions.invitations import invite, withdraw_invitation
from teams.models import Club, ClubMember, ClubRole, Invitation, Track
from teams.pages.forms import IdleForm, InviteForm, RaceClassForm, TeamForm, TimeZoneForm, TrackForm
from teams.pages.links import invitation_made
from teams.permissions import check_can_steward, check_can_withdraw
from teams.queries.invitations import open_invitations
from teams.queries.people import club_members, club_teams
from teams.queries.places import shape_to_read, track_units
from teams.queries.roles import roles_of

A_PAGE = 40


@login_required
def club(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Members, teams, tracks and classes of a club."""
    club, user = get_object_or_404(Club, pk=pk), person(request)
    units = track_units(user.units(club.units()))
    context = {
        "club": club,
        **_page_of(request, "members", club_members(club)),
        **_page_of(request, "teams", club_teams(user, club)),
        "can_steward": is_allowed(check_can_steward, user, club),
        "my_roles": sorted(roles_of(user).clubs.get(club.pk, ())),
        "invitations": open_invitations(club),
        "tracks": [(track, shape_to_read(track, units)) for track in club.tracks.all()],
        "race_classes": club.race_classes.all(),
    }
    return render(request, "teams/club.html", context)


def _page_of(request: HttpRequest, name: str, rows: QuerySet[Any]) -> dict[str, Any]:
    """One of the page's lists, each of which goes on by itself."""
    page, more = page_of(rows, A_PAGE, before_of(request.GET, name), name)
    return {name: page, f"more_{name}": more}


def _for_steward(request: HttpRequest, pk: UUID) -> tuple[Club, dict[str, str]]:
    """The club, if the person may steward it, and the way back to its page."""
    club = get_object_or_404(Club, pk=pk)
    check_can_steward(person(request), club)
    return club, {"back": reverse("club", args=[pk]), "back_to": club.name}


@login_required
@never_cache
def club_invite(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Makes an invitation to the club and shows its link, this once."""
    club, back = _for_steward(request, pk)
    form: Any = InviteForm(request.POST or None, roles=ClubRole.values)
    if submit_action(form, invite, by=request.user, club=club):
        return invitation_made(request, *form.outcome)
    return form_page(request, form, title=f"Invite to {club}", button="Make the link", **back)


@login_required
@require_http_methods(["GET", "POST"])
def invitation_withdraw(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Makes an invitation's link worthless, after asking."""
    invitation = get_object_or_404(Invitation.objects.select_related("club", "team"), pk=pk)
    check_can_withdraw(person(request), invitation)
    if request.method == "GET":
        return _ask_withdraw(request, invitation)
    done = "The link opens nothing now."
    run_action(request, withdraw_invitation, by=request.user, invitation=invitation, done=done)
    return (
        redirect("team", invitation.team_id)
        if invitation.team_id
        else redirect("club", invitation.club_id)
    )


@login_required
@require_POST
def club_member_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a role from a member, or lays down one's own."""
    member = get_object_or_404(ClubMember.objects.select_related("club", "user"), pk=pk)
    done = f"{member.user} is no {member.get_role_display().lower()} of {member.club} any more."
    run_action(request, clubs.remove_club_member, by=request.user, member=member, done=done)
    seen = Club.objects.filter(pk=member.club_id).exists()
    return redirect("club", member.club_id) if seen else redirect("start")


@login_required
def team_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    club, back = _for_steward(request, pk)
    form: Any = TeamForm(request.POST or None)
    if submit_action(form, teams.make_team, by=request.user, club=club):
        messages.success(request, "The team is made. Invite its first chief.")
        return redirect("team", form.outcome.pk)
    return form_page(request, form, title="New team", button="Make the team", **back)


@login_required
def track_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    club, back = _for_steward(request, pk)
    units = track_units(person(request).units(club.units()))
    form = TrackForm(request.POST or None, units=units)
    if submit_action(form, places.add_track, by=request.user, club=club):
        messages.success(request, "The track is added.")
        return redirect("club", pk)
    return form_page(request, form, title="New track", button="Add the track", **back)


@login_required
def track_change(request: HttpRequest, pk: UUID) -> HttpResponse:
    track = get_object_or_404(Track, pk=pk)
    club, back = _for_steward(request, track.club_id)
    units = track_units(person(request).units(club.units()))
    form = TrackForm(request.POST or None, units=units, track=track)
    if submit_action(form, places.change_track, by=request.user, track=track):
        messages.success(request, f"{track} is changed.")
        return redirect("club", club.pk)
    return form_page(request, form, title=track.name, button="Save", **back)


@login_required
def race_class_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    club, back = _for_steward(request, pk)
    form = RaceClassForm(request.POST or None)
    if submit_action(form, places.add_race_class, by=request.user, club=club):
        messages.success(request, "The class is added.")
        return redirect("club", pk)
    return form_page(request, form, title="New class", button="Add the class", **back)


@login_required
def club_units(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Changes what a bare number means in the club."""
    club, back = _for_steward(request, pk)
    form = UnitsForm(
        request.POST or None,
        chosen=club.preferred_units,
        fallback="Usual",
        over=Units.imperial(),
    )
    if submit_action(form, clubs.set_club_units, by=request.user, club=club):
        messages.success(request, "The club's units are kept.")
        return redirect("club", pk)
    return form_page(request, form, title="The club's units", button="Save", **back)


@login_required
def club_time_zone(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Changes whose wall clock the club's people read."""
    club, back = _for_steward(request, pk)
    form = TimeZoneForm(request.POST or None, club=club)
    if submit_action(form, clubs.set_club_time_zone, by=request.user, club=club):
        messages.success(request, f"The club's times are those of {club.time_zone}.")
        return redirect("club", pk)
    return form_page(request, form, title="The club's time zone", button="Save", **back)


@login_required
def club_idle(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Changes how long an official's device may rest."""
    club, back = _for_steward(request, pk)
    form = IdleForm(request.POST or None, club=club)
    if submit_action(form, clubs.set_club_idle_minutes, by=request.user, club=club):
        messages.success(request, "It holds for each official from their next sign-in.")
        return redirect("club", pk)
    title = "Officials' tablets"
    lead = "A tablet that lies on the scales' table is anybody's. It can sign its person out."
    return form_page(request, form, title=title, button="Save", lead=lead, **back)


def _ask_withdraw(request: HttpRequest, invitation: Invitation) -> HttpResponse:
    to = invitation.team or invitation.club
    back = reverse("team" if invitation.team else "club", args=[to.pk])
    note = f" ({invitation.note})" if invitation.note else ""
    return confirm_page(
        request,
        title=f"Withdraw the invitation to {to}{note}?",
        lead="Its link opens nothing from then on, and it cannot be brought back: whoever is to "
        "come in after all needs a new invitation with a new link.",
        button="Withdraw the invitation",
        safe="Keep it",
        back=back,
        back_to=str(to),
    )
