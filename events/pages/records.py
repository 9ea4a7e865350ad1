"""An event's records to take away."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render

from clubsetup.site.pages import person
from events.may import check_can_enter_by_hand
from events.models import Event
from events.queries.records import chain_end
from events.records_response import TYPES, records_response


@login_required
def records(request: HttpRequest, pk: UUID) -> HttpResponse:
    """How many records there are, the last hash, and the files."""
    event = get_object_or_404(Event.objects.select_related("club", "track"), pk=pk)
    check_can_enter_by_hand(person(request), event)
    return render(request, "events/records.html", {"event": event, "records": chain_end(event)})


@login_required
def records_file(request: HttpRequest, pk: UUID, kind: str) -> HttpResponseBase:
    """The records as a file, for the club's officials and stewards."""
    event, user = get_object_or_404(Event.objects.select_related("club"), pk=pk), person(request)
    if kind not in TYPES:
        raise Http404
    return records_response(by=user, event=event, kind=kind)
