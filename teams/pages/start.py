"""The start page: what a person came to do, brought by every room."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string

from clubsetup.site.pages import person
from clubsetup.site.start_sections import Place, sections_for
from teams.pages.people import LATER
from teams.queries.roles import roles_of


@login_required
def start(request: HttpRequest) -> HttpResponse:
    """A person's start page; first, where their club asks for a second factor, the asking."""
    if roles_of(person(request)).resting and not request.session.get(LATER):
        return redirect("second-factor")
    sections = sections_for(person(request))
    heads = next((each for each in sections if each.heading), None)
    context = {
        "heading": heads.heading if heads else "",
        "lead": heads.lead if heads else "",
        "styles": list(dict.fromkeys(each.style for each in sections if each.style)),
        **{
            place.value: [
                render_to_string(each.template, each.context, request)
                for each in sections
                if each.place is place
            ]
            for place in Place
        },
    }
    return render(request, "teams/start.html", context)
