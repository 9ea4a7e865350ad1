"""The API of a sheet's boxes: taken one by one with what was seen there, put back, read again."""

from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.bench.api import box_serializers as s
from cars.bench.api.lookups import writable_sheet_or_404
from cars.bench.presenters.bench_view import TAKES, bench_view
from cars.bench.queries.versions import version_of
from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.lookups import sheet_or_404
from cars.models import Reading
from cars.permissions import check_can_write_sheet
from cars.sheets.actions.conflicts import standing_in
from cars.sheets.actions.readings import take_same_again
from cars.sheets.actions.replacing import put_back_reading
from cars.sheets.actions.save_boxes import (
    BoxInput,
    BoxResult,
    conflict_message,
    save_box,
    save_boxes,
)
from cars.sheets.api.serializers import BoxSerializer, ReadingSerializer
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.api.idempotency import answers_once, by_id, made_once
from clubsetup.access.api.me import asking
from clubsetup.access.api.problems import problem
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from clubsetup.quantities.errors import QuantityError

CONFLICT = OpenApiResponse(
    description="Somebody else wrote in the box since, or the sheet is closed. Where somebody "
    "wrote, the problem has `box`, `seen` (the reading that stands now, or null), `theirs` (as "
    "typed) and `by`: send again with that `seen` to put yours in its place."
)


def key_or_404(name: str) -> Key:
    """The box that an address names."""
    try:
        key = Key.of(name)
    except ValueError as error:
        raise Http404 from error
    measure = cached_catalogue().measures.get(key.measure)
    if measure is None or key.spot not in measure.spots or key.take not in TAKES:
        raise Http404
    return key


def sent_of(given: Mapping[str, Any], key: Key) -> BoxInput:
    """A box as the actions take it."""
    return BoxInput(
        key=key,
        text=given["typed"].strip(),
        seen=given["seen"],
        reading_id=given.get("id"),
        taken_at=timezone.now() - timedelta(seconds=given["age"]),
        again=given["again"],
    )


def _valid(kind: type[serializers.Serializer[Any]], request: Request) -> Mapping[str, Any]:
    given = kind(data=request.data)
    given.is_valid(raise_exception=True)
    data: Mapping[str, Any] = given.validated_data
    return data


class SheetBoxes(APIView):
    """The boxes of a sheet."""

    @extend_schema(responses=BoxSerializer(many=True), operation_id="sheets_boxes_list")
    def get(self, request: Request, pk: UUID) -> Response:
        """Every box with its figure, target and judgement; computed figures too."""
        sheet, by = sheet_or_404(request, pk), asking(request)
        view = sheet_view(sheet, by)
        return Response(BoxSerializer(view.boxes.values(), many=True).data)

    @extend_schema(request=s.SentBoxesSerializer, responses=s.BoxResultsSerializer)
    def post(self, request: Request, pk: UUID) -> Response:
        """Takes what waited on a device, each box by itself: what is wrong with one does not hold
        up the others. The same sent twice under its ids makes one of each.
        """
        sheet, by = writable_sheet_or_404(pk), asking(request)
        check_can_write_sheet(by, sheet)
        sent = [_sent(place, one) for place, one in enumerate(_boxes(request))]
        before = version_of(pk)
        results = save_boxes(by, sheet, sent, cached_catalogue().measures)
        answer = {
            "before": before,
            "version": version_of(pk),
            "results": [_result(one, by) for one in results],
        }
        return Response(s.BoxResultsSerializer(answer).data)


def _boxes(request: Request) -> list[Mapping[str, Any]]:
    boxes: list[Mapping[str, Any]] = _valid(s.SentBoxesSerializer, request)["boxes"]
    return boxes


def _sent(place: int, given: Mapping[str, Any]) -> BoxInput:
    try:
        return sent_of(given, key_or_404(given["box"]))
    except Http404 as error:
        message = "There is no such box. Name it as in ride-height.LF."
        raise Invalid(f"boxes/{place}/box", message) from error


def _result(result: BoxResult, by: User) -> dict[str, Any]:
    conflict = result.conflict
    standing = conflict.standing if conflict else result.standing
    answer: dict[str, Any] = {
        "box": str(result.sent.key),
        "status": result.status,
        "seen": standing.pk if standing else None,
        "stands": standing.typed if standing else "",
        "problem": None,
    }
    if conflict:
        answer["problem"] = problem(
            409, conflict_message(conflict, by, result.sent.text), **conflict.more
        ).data
    elif result.status != "saved":
        answer["problem"] = problem(
            400 if result.wrong else 409, result.wrong or result.refused
        ).data
    return answer


class SheetBoxView(APIView):
    """One box of a sheet."""

    @extend_schema(
        request=s.BoxWriteSerializer, responses={200: s.BoxSavedSerializer, 409: CONFLICT}
    )
    def put(self, request: Request, pk: UUID, box: str) -> Response:
        """Takes one reading in place of the one that was seen there, and judges the step anew.
        Sent twice under its id it makes one.
        """
        sheet, by, key = writable_sheet_or_404(pk), asking(request), key_or_404(box)
        check_can_write_sheet(by, sheet)
        sent = sent_of(_valid(s.BoxWriteSerializer, request), key)
        known, before = cached_catalogue().measures, version_of(pk)
        try:
            units = by.units(sheet.team.club.units())
            standing = save_box(by, sheet, sent, known, units)
        except QuantityError as refusal:
            stands = standing_in(sheet, key)
            more = {"seen": str(stands.pk) if stands else None}
            more["stands"] = stands.typed if stands else ""
            raise Invalid("typed", refusal.message, more) from refusal
        now = bench_view(sheet, by, known[key.measure].step_id, past=False, only_here=True)
        answer = {
            "reading": standing,
            "before": before,
            "version": now.version,
            "boxes": now.boxes,
        }
        return Response(s.BoxSavedSerializer(answer).data)


class SheetBoxUndo(APIView):
    """What stood in a box before."""

    @extend_schema(
        request=s.BoxSeenSerializer, responses={**answers_once(ReadingSerializer), 409: CONFLICT}
    )
    def post(self, request: Request, pk: UUID, box: str) -> Response:
        """Puts it back, as a new reading; undone twice, what was undone stands again."""
        return _read_anew(put_back_reading, request, pk, key_or_404(box), s.BoxSeenSerializer)


class SheetBoxSameAgain(APIView):
    """A box that was read again."""

    @extend_schema(
        request=s.BoxSameSerializer, responses={**answers_once(ReadingSerializer), 409: CONFLICT}
    )
    def post(self, request: Request, pk: UUID, box: str) -> Response:
        """It says the same: a new reading with the figure that was seen there."""
        return _read_anew(take_same_again, request, pk, key_or_404(box), s.BoxSameSerializer)


def _read_anew(
    action: Callable[..., Reading],
    request: Request,
    pk: UUID,
    key: Key,
    kind: type[serializers.Serializer[Any]],
) -> Response:
    sheet, by = writable_sheet_or_404(pk), asking(request)
    check_can_write_sheet(by, sheet)
    given = _valid(kind, request)
    row, code = made_once(
        request,
        given.get("id"),
        lambda chosen: action(by=by, sheet=sheet, key=key, seen=given["seen"], reading_id=chosen),
        by_id(Reading),
    )
    return Response(ReadingSerializer(row).data, code)
