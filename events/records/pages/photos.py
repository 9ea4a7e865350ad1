"""Photos of ballast: adding one to a look, and seeing it."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from clubsetup.site.pages import form_action, form_page, person
from events.models import BallastCheck, BallastPhoto
from events.permissions import check_can_inspect
from events.records.actions.photos import photograph_ballast
from events.records.pages.forms import PhotoForm
from events.records.responses import photo_response

CHECKS = BallastCheck.objects.select_related("entry__event", "entry__club")

SHOWN = BallastPhoto.objects.listed().select_related(
    "ballast_check__void", "entry__event__club", "by"
)


@login_required
def ballast_photo_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One more photo of a piece that an official looked at."""
    check, user = get_object_or_404(CHECKS, pk=pk), person(request)
    check_can_inspect(user, check.entry)
    form = PhotoForm(request.POST or None, request.FILES or None)
    back = reverse("entry", args=[check.entry_id])
    if form.is_valid():
        sent = form.sent_id()
        given = {"ballast_check": check, "photo": form.cleaned_data["photo"], "photo_id": sent}
        if BallastPhoto.objects.filter(pk=sent).exists() or form_action(
            form, photograph_ballast, by=user, **given
        ):
            return redirect(f"{back}#ballast")
    title = f"Photo of ballast {check.label}".rstrip()
    return form_page(
        request, form, title=title, button="Keep it", back=back, back_to=str(check.entry)
    )


@login_required
@require_GET
def ballast_photo(request: HttpRequest, pk: UUID) -> HttpResponse:
    photo = get_object_or_404(SHOWN, pk=pk)
    context = {"photo": photo, "check": photo.ballast_check}
    return render(request, "events/records/photo.html", context)


@login_required
@require_GET
def ballast_photo_file(_request: HttpRequest, pk: UUID) -> HttpResponse:
    return photo_response(get_object_or_404(BallastPhoto.objects.defer("small"), pk=pk))


@login_required
@require_GET
def ballast_photo_small(_request: HttpRequest, pk: UUID) -> HttpResponse:
    return photo_response(get_object_or_404(BallastPhoto.objects.with_small(), pk=pk), small=True)
