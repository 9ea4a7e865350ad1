"""The start page: what a person came to do, brought by every room."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string

from clubsetup.site.pages import person
from clubsetup.site.start_sections import sections_for
from teams.pages.people import LATER
from teams.queries.roles import roles_of


@login_required
def start(request: HttpRequest) -> HttpResponse:
    """A person's start page; first, where their club asks for a second factor, the asking."""
    if roles_of(person(request)).resting and not request.session.get(LATER):
        return redirect("second-factor")
    sections = sections_for(person(request))
    context = {
        "sections": [render_to_string(each.template, each.context, request) for each in sections],
        "heading": next((each.heading for each in sections if each.heading), ""),
    }
    return render(request, "teams/start.html", context)
