"""What the bench page's own script sends and asks for: small, and often."""

from collections.abc import Collection, Sequence
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.views.decorators.http import require_POST

from cars.bench.pages.parts import now_json, result_json
from cars.bench.pages.sent import sent_box, sent_by_script
from cars.bench.presenters.bench_view import bench_view
from cars.bench.queries.versions import sheet_to_write, version_of
from cars.catalogue.queries import cached_catalogue
from cars.models import Sheet
from cars.permissions import check_can_write_sheet
from cars.sheets.actions.replacing import put_back_reading
from cars.sheets.actions.save_boxes import BoxResult, save_boxes
from clubsetup.access.errors import Invalid, WrongState, is_allowed
from clubsetup.site.pages import person


@login_required
def bench_now(request: HttpRequest, pk: UUID, step: str) -> HttpResponse:
    """What stands on the bench now; nothing (204) where that is what the page has already."""
    version = version_of(pk)
    if version is None:
        raise Http404
    if version == request.GET.get("version"):
        return HttpResponse(status=204)
    return JsonResponse(_now(request, _sheet(pk), step))


@login_required
@require_POST
def bench_save(request: HttpRequest, pk: UUID, step: str) -> HttpResponse:
    """Takes what was typed, box by box, and answers with what stands now."""
    sheet, by = _sheet(pk), person(request)
    check_can_write_sheet(by, sheet)
    try:
        sent = sent_by_script(request.body)
    except (ValueError, TypeError, OverflowError) as error:
        raise Invalid("readings", "This is not what the bench's page sends.") from error
    before, known = version_of(pk), cached_catalogue().measures
    results = save_boxes(by, sheet, sent, known)
    measures = {one.key.measure for one in sent}
    here = all(each in known and known[each].step_id == step for each in measures)
    now = _now(request, sheet, step, results, touched=measures if here else None)
    return JsonResponse({**now, "before": before})


@login_required
@require_POST
def bench_undo(request: HttpRequest, pk: UUID, step: str) -> HttpResponse:
    """Puts back what stood in a box before, unless somebody else has written there since."""
    sheet, by = _sheet(pk), person(request)
    try:
        box = sent_box(request.body)
    except (ValueError, TypeError) as error:
        raise Invalid("box", "This is not what the bench's page sends.") from error
    result = BoxResult(box)
    try:
        result.standing = put_back_reading(by=by, sheet=sheet, key=box.key, seen=box.seen)
    except WrongState as refusal:
        result.refused = str(refusal)
    return JsonResponse(_now(request, sheet, step, [result]))


def _sheet(pk: UUID) -> Sheet:
    sheet = sheet_to_write(pk)
    if sheet is None:
        raise Http404
    return sheet


def _now(
    request: HttpRequest,
    sheet: Sheet,
    step: str,
    results: Sequence[BoxResult] = (),
    *,
    touched: Collection[str] | None = None,
) -> dict[str, object]:
    by = person(request)
    editable = is_allowed(check_can_write_sheet, by, sheet) and sheet.state == Sheet.State.OPEN
    try:
        now = bench_view(sheet, by, step, past=False, only_here=touched is not None)
    except KeyError as error:
        raise Http404 from error
    return {
        **now_json(now, editable=editable, touched=touched),
        "results": [result_json(one, by) for one in results],
        # Signing in again elsewhere makes the page's own token stale.
        "token": get_token(request),
        "user": str(by.pk),
    }
