"""Bringing an archive in, and what came with it."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from cars.exchange.actions.archive_background import begin_archive
from cars.exchange.actions.archive_import import import_archive
from cars.exchange.files.archive_input import (
    IN_THE_REQUEST,
    MOST_BYTES,
    archive_in,
    json_of,
)
from cars.exchange.presenters.came_in import came_in
from cars.lookups import team_or_404
from cars.models import ImportedArchive
from cars.permissions import check_can_import_archive
from clubsetup.access.errors import Invalid
from clubsetup.site.pages import form_action, form_page, person

LEAD = (
    "Everything the archive has of its team comes into this one under new ids and under your name: "
    "drivers, cars, sheets, runs, parts. What officials and coaches wrote there is kept beside it, "
    "to be read; it is no record here. Sheets come without their baseline, which is the other "
    "club's."
)


class ArchiveForm(forms.Form):
    """Cleans to what is in the file, or where that is much to its JSON alone."""

    file = forms.FileField(
        label="Archive",
        help_text=f"The ZIP as it was downloaded, or its team.json; at most {MOST_BYTES // 2**20} "
        f"MB unpacked, and above {IN_THE_REQUEST // 2**20} MB in the background.",
        widget=forms.FileInput(attrs={"accept": ".zip,.json"}),
        error_messages={"required": "Choose the archive."},
    )

    def clean_file(self) -> Any:
        """The archive, if it is one."""
        try:
            content = json_of(self.cleaned_data["file"].file)
            return content if len(content) > IN_THE_REQUEST else archive_in(content)
        except Invalid as refusal:
            raise forms.ValidationError(refusal.message) from refusal


@login_required
@require_http_methods(["GET", "POST"])
def bring_in(request: HttpRequest, pk: UUID) -> HttpResponse:
    """An archive into a team, all of it or nothing."""
    team, by = team_or_404(pk), person(request)
    check_can_import_archive(by, team)
    form = ArchiveForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        archive = form.cleaned_data["file"]
        if isinstance(archive, bytes):
            file: Any = request.FILES["file"]
            name = file.name or ""
            sent = {"team": team, "file_name": name, "content": archive}
            if form_action(form, begin_archive, by=by, **sent):
                return redirect("import", form.outcome.pk)  # type: ignore[attr-defined]
        given = {"team": team, "archive": archive}
        if not form.errors and form_action(form, import_archive, by=by, **given):
            imported: Any = form.outcome  # type: ignore[attr-defined]
            messages.success(request, f"{imported} came in.")
            return redirect("archive", imported.pk)
    return form_page(
        request,
        form,
        title=f"Bring an archive into {team.name}",
        button="Bring it in",
        lead=LEAD,
        back=reverse("exports"),
        back_to="Take it away",
    )


@login_required
@require_GET
def archive(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Where it is from, what was added and what is attached."""
    found = get_object_or_404(ImportedArchive.objects.select_related("team", "by"), pk=pk)
    return render(request, "cars/exchange/archive.html", {"archive": found, "came": came_in(found)})


@login_required
@require_GET
def attached(_request: HttpRequest, pk: UUID) -> HttpResponse:
    """What is there to be read, and the ids of the source: a file."""
    found = get_object_or_404(ImportedArchive, pk=pk)
    answer = JsonResponse({**found.attached, "source_ids": found.source_ids})
    answer["Content-Disposition"] = 'attachment; filename="attached.json"'
    answer["Cache-Control"] = "private, no-store"
    return answer
