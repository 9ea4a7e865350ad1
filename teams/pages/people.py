"""Getting people back in, and keeping lost tablets out: what stewards and chiefs do for others."""

from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from clubsetup.access.errors import NotAllowed
from clubsetup.access.models import User
from clubsetup.access.reauthentication import still_you
from clubsetup.access.reset_codes import MAIL_DOES, MINUTES, NOT_YOURS, make_reset_code, reach_of
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import confirm_page, form_page, person, run_action, submit_action
from teams.actions import clubs
from teams.models import Club, ClubMember, TeamMember
from teams.pages.forms import SecondFactorForm
from teams.permissions import check_can_steward
from teams.queries.people import people_of, still_in
from teams.queries.roles import roles_of

A_PAGE = 50
LATER = "second_factor_later"


def _for_steward(request: HttpRequest, pk: UUID) -> Club:
    club = get_object_or_404(Club, pk=pk)
    check_can_steward(person(request), club)
    return club


@login_required
def club_people(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Everybody who is or was in the club, for a steward to end their sign-ins."""
    club = _for_steward(request, pk)
    people, more = page_of(people_of(club), A_PAGE, before_of(request.GET))
    still = still_in(club, people)
    told = [(other, other.pk in still) for other in people]
    context = {"club": club, "people": told, "more": more}
    return render(request, "teams/people.html", context)


@still_you
@require_http_methods(["GET", "POST"])
def member_end(request: HttpRequest, pk: UUID, who: UUID) -> HttpResponse:
    """Ends a person's sign-ins and tokens, after asking."""
    club = _for_steward(request, pk)
    other = get_object_or_404(people_of(club), pk=who)
    back = {"back": reverse("club-people", args=[pk]), "back_to": club.name}
    if request.method == "GET":
        return _ask_end(request, other, back)
    done = f"{other} is signed out everywhere, and their tokens open nothing."
    run_action(request, clubs.end_for_member, by=request.user, club=club, who=other, done=done)
    return redirect("club-people", pk)


def _ask_end(request: HttpRequest, other: User, back: dict[str, str]) -> HttpResponse:
    lead = (
        "For a tablet that is lost, or a person who has left. They are signed out on every device "
        "and their tokens open nothing; with their password they sign in again. What they are in "
        "the club and its teams stays: take that from them by itself. The club's trail says so, "
        "and they are told by letter where mail is set up."
    )
    words = {"button": "End them", "safe": "Leave them"}
    title = f"End all sign-ins and tokens of {other}?"
    return confirm_page(request, title=title, lead=lead, **words, **back)


@still_you
@never_cache
@require_http_methods(["GET", "POST"])
def person_code(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Makes a code for another person's new password, after asking, and shows it this once."""
    other = _seen_person(pk)
    reach = reach_of(pk)
    if not reach:
        raise NotAllowed(NOT_YOURS)
    if settings.MAIL_IS_SET_UP:
        raise NotAllowed(MAIL_DOES)
    if request.method == "POST":
        code, reach = make_reset_code(by=person(request), who=other)
        context = {"other": other, "code": code, "reach": reach, "minutes": MINUTES}
        return render(request, "teams/code_made.html", context)
    lead = (
        f"Give it to {other} alone, face to face or by telephone, and be sure that it is them. It "
        f"is used once, within {MINUTES} minutes; then their sign-ins on other devices and their "
        "tokens end. A second factor stays. The trail of every team and club they are in says that "
        "you made it."
    )
    if reach == "known":
        lead += " It opens only on a device on which they have signed in before."
    words = {"button": "Make the code", "safe": "Leave it", "back": reverse("start")}
    title = f"A code for a new password of {other}?"
    return confirm_page(request, title=title, lead=lead, back_to="Start", **words)


def _seen_person(pk: UUID) -> User:
    """Somebody whom the viewer sees in a team or club of theirs."""
    seen = (TeamMember.objects.filter(user_id=pk), ClubMember.objects.filter(user_id=pk))
    if not any(rows.exists() for rows in seen):
        raise Http404
    return get_object_or_404(User.objects.only("id", "name"), pk=pk)


@login_required
def club_second_factor(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Changes whether the club asks its stewards and officials for a second factor."""
    club = _for_steward(request, pk)
    form = SecondFactorForm(request.POST if request.method == "POST" else None, club=club)
    if submit_action(form, clubs.set_club_second_factor, by=request.user, club=club):
        messages.success(request, "It holds from now on.")
        return redirect("club", pk)
    back = {"back": reverse("club", args=[pk]), "back_to": club.name}
    lead = "A password can be watched, guessed or told. A second factor is something one has."
    return form_page(request, form, title="Second factor", button="Save", lead=lead, **back)


@login_required
@require_http_methods(["GET", "POST"])
def second_factor(request: HttpRequest) -> HttpResponse:
    """Asks for a second factor; what rests meanwhile rests, and the rest goes on."""
    if request.method == "POST":
        request.session[LATER] = True
        return redirect("start")
    asking = Club.objects.filter(pk__in=roles_of(person(request)).resting)
    return render(request, "teams/second_factor.html", {"clubs": asking})
