"""The API of sheets, readings, changes and comments."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_view
from rest_framework import status
from rest_framework.decorators import action
from rest_framework.exceptions import UnsupportedMediaType
from rest_framework.request import Request
from rest_framework.response import Response

from cars.api_base import InClubUnits, Listed
from cars.models import Change, Comment, Reading, Sheet
from cars.sheets.actions import comments, readings, set_sheet, sheets
from cars.sheets.api import serializers as s
from cars.sheets.api.box_entries import entries_of, seen_of
from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.idempotency import create_once
from teams.api.base import ListsOfTeams, NotesReaders


@extend_schema_view(create=creates(s.SheetSerializer, s.SheetCreateSerializer))
class Sheets(ListsOfTeams, NotesReaders, InClubUnits, Listed):
    """Sheets of one's cars and of those one coaches."""

    queryset = Sheet.objects.select_related("team__club", "car__chassis").order_by("-id")
    serializer_class = s.SheetSerializer
    create_serializer_class = s.SheetCreateSerializer
    filterset_fields = ("car", "role", "state", "made_on", "track", "surface")
    club_from, club_by = "car", "teams__cars__pk"

    def make(self, *, row_id: UUID, **given: Any) -> Sheet:
        """Opens the sheet."""
        return sheets.open_sheet(by=self.by, sheet_id=row_id, alone=True, **given)

    @extend_schema(request=s.HeadSerializer, responses=s.SheetSerializer)
    def update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Writes the head of an open sheet anew."""
        sheet = self.get_object()
        units = self.by.units(sheet.team.club.units())
        given = s.HeadSerializer(data=request.data, context={"units": units})
        given.is_valid(raise_exception=True)
        done = sheets.edit_sheet(by=self.by, sheet=sheet, **given.validated_data)
        return Response(s.SheetSerializer(done).data)

    @extend_schema(
        request=s.BoxEntriesSerializer,
        responses={
            200: s.ReadingSerializer(many=True),
            409: OpenApiResponse(description="The sheet is closed, or somebody wrote there since."),
        },
    )
    @action(detail=True, methods=["post"])
    def readings(self, request: Request, *_: Any, **__: Any) -> Response:
        """Keeps readings as typed; answers with what now stands in their boxes.

        409 where somebody wrote in one of them since: it names `box`, `seen` (the reading that
        stands now, or null), `theirs` and `by`, and nothing is kept.
        """
        sheet = self.get_object()
        given = s.BoxEntriesSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        units = self.by.units(sheet.team.club.units())
        sent = given.validated_data["readings"]
        entries, seen = entries_of(sent, units), seen_of(sent)
        readings.take_readings(by=self.by, sheet=sheet, entries=entries, seen=seen)
        boxes = {(entry.key.measure, entry.key.spot, entry.key.take) for entry in entries}
        standing = sheet.readings.current().select_related("measure")
        rows = [r for r in standing if (r.measure_id, r.spot, r.take) in boxes]
        return Response(s.ReadingSerializer(rows, many=True).data)

    @extend_schema(request=s.CloseSerializer, responses=s.SheetSerializer)
    @action(detail=True, methods=["post"])
    def close(self, request: Request, *_: Any, **__: Any) -> Response:
        """Closes the sheet; from then on it stands. 409 names the boxes that are to be taken again
        in `again`: sent with them, it is closed all the same.
        """
        given = s.CloseSerializer(data=_body(request))
        given.is_valid(raise_exception=True)
        again = given.validated_data["again"]
        done = sheets.close_sheet(by=self.by, sheet=self.get_object(), again=again)
        return Response(s.SheetSerializer(done).data)

    @extend_schema(request=s.CorrectSerializer, responses={201: s.SheetSerializer})
    @action(detail=True, methods=["post"])
    def correct(self, request: Request, *_: Any, **__: Any) -> Response:
        """Makes the next version of a closed sheet."""
        sheet = self.get_object()
        given = s.CorrectSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        reason = given.validated_data["reason"]
        row, made = create_once(
            by=self.by,
            row_id=given.validated_data.get("id"),
            content=[request.path, request.data],
            make=lambda chosen: sheets.correct_sheet(
                by=self.by, sheet=sheet, reason=reason, sheet_id=chosen
            ),
            find=lambda chosen: Sheet.objects.filter(pk=chosen).first(),
        )
        code = status.HTTP_201_CREATED if made else status.HTTP_200_OK
        return Response(s.SheetSerializer(row).data, code)


def _body(request: Request) -> Any:
    """What was sent; nothing where that is no JSON, as before a body was asked for."""
    try:
        return request.data
    except UnsupportedMediaType:
        return {}


class Readings(ListsOfTeams, NotesReaders, Listed):
    """All readings ever taken, the replaced ones too. Taken under their sheet."""

    queryset = Reading.objects.select_related("measure").order_by("-id")
    serializer_class = s.ReadingSerializer
    filterset_fields = {
        "sheet": ["exact"],
        "sheet__car": ["exact"],
        "measure": ["exact"],
        "spot": ["exact"],
        "replaced_at": ["isnull"],
    }


@extend_schema_view(create=creates(s.ChangeSerializer, s.ChangeCreateSerializer))
class Changes(ListsOfTeams, NotesReaders, CreateOnceMixin, Listed):
    """What was turned, moved or swapped."""

    queryset = Change.objects.order_by("-id")
    serializer_class = s.ChangeSerializer
    create_serializer_class = s.ChangeCreateSerializer
    filterset_fields = ("sheet", "adjuster", "spot")

    def make(self, *, row_id: UUID, **given: Any) -> Change:
        """Notes the change; on a car as found, on the sheet as set, opened where there is none."""
        return set_sheet.note_change(by=self.by, change_id=row_id, **given)


@extend_schema_view(create=creates(s.CommentSerializer, s.CommentCreateSerializer))
class Comments(ListsOfTeams, NotesReaders, CreateOnceMixin, Listed):
    """Remarks on sheets."""

    queryset = Comment.objects.order_by("-id")
    serializer_class = s.CommentSerializer
    create_serializer_class = s.CommentCreateSerializer
    filterset_fields = ("sheet",)

    def make(self, *, row_id: UUID, **given: Any) -> Comment:
        """Leaves the comment."""
        return comments.add_comment(by=self.by, comment_id=row_id, **given)
