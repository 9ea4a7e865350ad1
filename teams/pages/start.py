"""The start page: what a person came to do, brought by every room."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from clubsetup.site.pages import person
from clubsetup.site.start import sections_for


@login_required
def start(request: HttpRequest) -> HttpResponse:
    """A person's start page."""
    return render(request, "teams/start.html", {"sections": sections_for(person(request))})
