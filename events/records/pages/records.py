"""An event's records to take away."""

from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from clubsetup.access.errors import is_allowed
from clubsetup.access.reauthentication import still_you
from clubsetup.site.pages import form_page, person, submit_action
from events.models import Event
from events.permissions import check_can_enter_walk_in
from events.records.actions.words import erase_words
from events.records.queries.records import chain_end
from events.records.responses import TYPES, records_response
from teams.permissions import check_can_steward


class LineForm(forms.Form):
    line = forms.IntegerField(
        label="Line",
        min_value=1,
        max_value=2**31 - 1,
        help_text="Its number in the exported table, in the last column.",
    )


@login_required
def records(request: HttpRequest, pk: UUID) -> HttpResponse:
    """How many records there are, the last hash, and the files."""
    event = get_object_or_404(Event.objects.select_related("club", "track"), pk=pk)
    check_can_enter_walk_in(person(request), event)
    may_erase = is_allowed(check_can_steward, person(request), event.club)
    context = {"event": event, "records": chain_end(event), "may_erase": may_erase}
    return render(request, "events/records/records.html", context)


@still_you
def words_erase(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Erases the words of one line, for the club's stewards."""
    event = get_object_or_404(Event.objects.select_related("club", "track"), pk=pk)
    check_can_steward(person(request), event.club)
    form = LineForm(request.POST or None)
    if submit_action(form, erase_words, by=request.user, event=event):
        messages.success(request, "The words are erased.")
        return redirect("records", pk)
    lead = (
        "Such as the reason of a void, or a note on fuel. The record itself, its figures and its "
        "hash stay, and the chain still verifies. 'Erased.' stands in place of the words."
    )
    return form_page(
        request,
        form,
        title="Erase the words of a record",
        button="Erase the words",
        lead=lead,
        caution="Nobody can bring them back.",
        back=reverse("records", args=[pk]),
        back_to="Official record",
    )


@login_required
def records_file(request: HttpRequest, pk: UUID, kind: str) -> HttpResponseBase:
    """The records as a file, for the club's officials and stewards."""
    event, user = get_object_or_404(Event.objects.select_related("club"), pk=pk), person(request)
    if kind not in TYPES:
        raise Http404
    return records_response(by=user, event=event, kind=kind)
