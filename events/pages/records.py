"""An event's records to take away."""

import tempfile
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils.text import slugify

from clubsetup.site.pages import person
from events.actions.records import export_records, export_with_photos
from events.may import check_can_enter_by_hand
from events.models import Event
from events.queries.records import records_of

TYPES = {
    "json": "application/json; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "zip": "application/zip",
}


@login_required
def records(request: HttpRequest, pk: UUID) -> HttpResponse:
    """How many records there are, the last hash, and the files."""
    event = get_object_or_404(Event.objects.select_related("club", "track"), pk=pk)
    check_can_enter_by_hand(person(request), event)
    return render(request, "events/records.html", {"event": event, "records": records_of(event)})


@login_required
def records_file(request: HttpRequest, pk: UUID, kind: str) -> HttpResponseBase:
    """The records as a file, for the club's officials and stewards."""
    event, user = get_object_or_404(Event.objects.select_related("club"), pk=pk), person(request)
    if kind not in TYPES:
        raise Http404
    answer: HttpResponseBase
    if kind == "zip":
        packed = tempfile.TemporaryFile()  # noqa: SIM115 - the response closes it
        export_with_photos(by=user, event=event, to=packed)
        packed.seek(0)
        answer = FileResponse(packed, content_type=TYPES[kind])
    else:
        text = export_records(by=user, event=event, kind=kind)
        answer = HttpResponse(text, content_type=TYPES[kind])
    name = f"{slugify(event.name) or 'event'}-records.{kind}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer
