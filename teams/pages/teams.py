"""A team's page, and what its chiefs change on it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from clubsetup.access.errors import is_allowed
from clubsetup.site.pages import confirm_page, form_page, person, run_action, submit_action
from teams.actions import teams
from teams.actions.invitations import invite
from teams.models import CoachLink, Team, TeamMember, TeamRole
from teams.pages.forms import CoachForm, CoachLinkForm, InviteForm, RoleForm
from teams.pages.links import invitation_made
from teams.permissions import check_can_crew, check_can_invite, check_can_lead, check_can_unlink
from teams.queries.invitations import open_invitations
from teams.queries.people import coach_links, team_members
from teams.queries.people import coaches_to_link as coaches_without_link
from teams.queries.reads import note_reader
from teams.queries.roles import roles_of


def _team(pk: UUID) -> Team:
    return get_object_or_404(Team.objects.select_related("club"), pk=pk)


@login_required
def team(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Members, coaches and drivers of a team; others of the club see that it is there."""
    team, user = _team(pk), person(request)
    roles = roles_of(user)
    if pk in roles.coached:  # who sees the drivers' names there
        note_reader(user, pk, team)
    context = {
        "team": team,
        "my_role": roles.teams.get(pk, ""),
        "is_inside": roles.is_member(pk) or pk in roles.coached,
        "can_lead": is_allowed(check_can_lead, user, team),
        "can_export": roles.may_comment(pk),
        "can_crew": is_allowed(check_can_crew, user, team),
        "can_invite": is_allowed(check_can_invite, user, team.club, team),
        "members": team_members(team),
        "links": coach_links(team),
        "drivers": team.drivers.all(),
        "invitations": open_invitations(team.club, team),
    }
    return render(request, "teams/team.html", context)


def _for_chief(request: HttpRequest, team: Team) -> dict[str, str]:
    check_can_lead(person(request), team)
    return _back(team)


def _back(team: Team) -> dict[str, str]:
    return {"back": reverse("team", args=[team.pk]), "back_to": team.name}


@login_required
@never_cache
def team_invite(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Makes an invitation to the team and shows its link, this once."""
    team, user = _team(pk), person(request)
    check_can_invite(user, team.club, team)
    chief = roles_of(user).is_chief(pk)
    form: Any = InviteForm(
        request.POST or None, roles=TeamRole.values if chief else [TeamRole.CHIEF.value]
    )
    if submit_action(form, invite, by=user, club=team.club, team=team):
        return invitation_made(request, *form.outcome)
    title = f"Invite to {team}"
    return form_page(request, form, title=title, button="Make the link", **_back(team))


@login_required
def team_member_role(request: HttpRequest, pk: UUID) -> HttpResponse:
    member = get_object_or_404(TeamMember.objects.select_related("team", "user"), pk=pk)
    back = _for_chief(request, member.team)
    form = RoleForm(request.POST or None, initial={"role": member.role})
    if submit_action(form, teams.set_team_role, by=request.user, member=member):
        messages.success(request, f"{member.user} is {member.get_role_display().lower()} now.")
        return redirect("team", member.team_id)
    return form_page(request, form, title=str(member.user), button="Save", **back)


@login_required
@require_POST
def team_member_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Removes a member, or leaves the team."""
    member = get_object_or_404(TeamMember.objects.select_related("team", "user"), pk=pk)
    done = f"{member.user} is not in {member.team} any more."
    run_action(request, teams.remove_team_member, by=request.user, member=member, done=done)
    seen = Team.objects.filter(pk=member.team_id).exists()
    return redirect("team", member.team_id) if seen else redirect("start")


@login_required
def coach_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Links a coach with the team."""
    team = _team(pk)
    back = _for_chief(request, team)
    coaches = coaches_without_link(team)
    if not coaches:
        messages.info(request, f"Every coach of {team.club} is linked, or it has none yet.")
        return redirect("team", pk)
    form = CoachForm(request.POST or None, coaches=coaches)
    if submit_action(form, teams.link_coach, by=request.user, team=team):
        messages.success(request, "The coach sees the team's cars now.")
        return redirect("team", pk)
    return form_page(request, form, title="Let a coach in", button="Link the coach", **back)


def _link(pk: UUID) -> CoachLink:
    return get_object_or_404(CoachLink.objects.select_related("team__club", "coach"), pk=pk)


@login_required
def coach_change(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Changes how far a coach is let in."""
    link = _link(pk)
    back = _for_chief(request, link.team)
    current = {"may_write": link.may_write, "may_see_codes": link.may_see_codes}
    form = CoachLinkForm(request.POST or None, initial=current)
    if submit_action(form, teams.link_coach, by=request.user, team=link.team, coach=link.coach):
        messages.success(request, f"What {link.coach} may do is changed.")
        return redirect("team", link.team_id)
    return form_page(request, form, title=str(link.coach), button="Save", **back)


@login_required
@require_http_methods(["GET", "POST"])
def coach_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Ends a coach's link, after asking."""
    link = _link(pk)
    check_can_unlink(person(request), link)
    if request.method == "GET":
        return _ask_unlink(request, link)
    done = f"{link.coach} sees nothing of {link.team} any more."
    run_action(request, teams.unlink_coach, by=request.user, link=link, done=done)
    return redirect("team", link.team_id)


def _ask_unlink(request: HttpRequest, link: CoachLink) -> HttpResponse:
    mine = link.coach_id == person(request).pk
    who, whose = ("You", "your") if mine else (str(link.coach), f"{link.coach}'s")
    lead = (
        f"From then on {who} {'see' if mine else 'sees'} nothing of {link.team}: no car, no sheet, "
        "no driver. What was written stays. Only a chief of the team can link a coach again, "
        "and then says anew what they may do."
    )
    title = f"End {whose} link with {link.team}?"
    return confirm_page(
        request, title=title, lead=lead, button="End the link", safe="Keep it", **_back(link.team)
    )
