"""The start page: what a person came to do, brought by every room."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from clubsetup.site.pages import person
from clubsetup.site.start import sections_for


@login_required
def start(request: HttpRequest) -> HttpResponse:
    """A person's start page."""
    sections = [
        render_to_string(section.template, section.context, request)
        for section in sections_for(person(request))
    ]
    return render(request, "teams/start.html", {"sections": sections})
