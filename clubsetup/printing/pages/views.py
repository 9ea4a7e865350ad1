"""A person's prints: asking, watching, fetching."""

from uuid import UUID

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.files import file_response
from clubsetup.printing.models import PrintJob
from clubsetup.printing.pages.forms import AskForm
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import person

A_PAGE = 25


@login_required
@require_GET
@never_cache
def prints(request: HttpRequest) -> HttpResponse:
    """My prints, the newest first."""
    own = PrintJob.objects.filter(asked_by=person(request)).order_by("-id")
    jobs, older = page_of(own, A_PAGE, before_of(request.GET))
    context = {"jobs": jobs, "older": older, "days": settings.PRINT_KEEP_DAYS}
    return render(request, "printing/prints.html", context)


@login_required
@require_POST
def ask(request: HttpRequest) -> HttpResponse:
    """Asks for a print; with htmx the answer is the job's state, without it the list."""
    form = AskForm(request.POST)
    if not form.is_valid():
        raise Http404("There is no such document.")
    job = ask_for_print(by=request.user, **form.cleaned_data)  # type: ignore[arg-type]  # signed in
    if getattr(request, "htmx", False):
        return render(request, "printing/_state.html", {"job": job})
    return redirect("prints")


@login_required
@require_GET
@never_cache
def state(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """A job's state; nothing (204) while it is still what the page shows already."""
    job = get_object_or_404(PrintJob, pk=job_id)
    if request.GET.get("shown") == job.shown:
        return HttpResponse(status=204)
    return render(request, "printing/_state.html", {"job": job})


@login_required
@require_GET
def file(_request: HttpRequest, job_id: UUID) -> FileResponse:
    """The finished print, for whoever asked for it and still may see what it shows."""
    return file_response(get_object_or_404(PrintJob, pk=job_id))
