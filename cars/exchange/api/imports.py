"""The API of imports: a file is sent as a form, read and told as JSON."""

import hashlib
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from cars.api_base import Listed
from cars.exchange.actions.archive_background import begin_archive
from cars.exchange.actions.imports import (
    begin_import,
    choose_columns,
    confirm_import,
    drop_import,
    withdraw_import,
)
from cars.exchange.files.archive_input import json_of
from cars.exchange.files.import_table import MOST_BYTES, MOST_COLUMNS
from cars.exchange.presenters.import_view import show_draft, show_progress
from cars.models import Import
from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.api.parsers import JSONParser, MultiPartParser
from teams.api.base import ListsOfTeams
from teams.api.serializers import row
from teams.models import Team

REFUSED = {409: OpenApiResponse(description="Not in the state it is in; the detail says why.")}


IMPORT_KINDS = Import.Kind.choices
TIMED_BY = Import.TimedBy.choices


class ImportSerializer(serializers.ModelSerializer[Import]):
    """A file that was read: a draft, on its way, or brought in."""

    progress = serializers.SerializerMethodField(help_text="Rows made so far.")

    class Meta:
        model = Import
        fields = (
            *(
                "id",
                "team",
                "by",
                "kind",
                "timed_by",
                "file_name",
                "notes",
                "columns",
                "rows",
                "made",
            ),
            *("state", "problem", "progress", "created_at", "confirmed_at", "confirmed_by"),
            *("withdrawn_at", "withdrawn_by"),
        )

    def get_progress(self, shown: Import) -> int:
        """0 before it begins."""
        return show_progress(shown).value if shown.state == Import.State.WORKING else shown.made


class ImportCreateSerializer(CreateOnceSerializer):
    """A CSV or XLSX file."""

    team = row(Team)
    kind = serializers.ChoiceField(IMPORT_KINDS)
    timed_by = serializers.ChoiceField(
        TIMED_BY, required=False, default=Import.TimedBy.TRANSPONDER, help_text="Of laps in it."
    )
    file = serializers.FileField(
        help_text=f"At most {MOST_BYTES // 1_000_000} MB; read at once, and kept as a draft. An "
        "archive is brought in without a draft, in the background."
    )


class ImportColumnsSerializer(serializers.Serializer[Any]):
    """What each column is for, in their order; empty where it is left out."""

    columns = serializers.ListField(
        child=serializers.CharField(max_length=60, allow_blank=True), max_length=MOST_COLUMNS
    )


class ImportProblemSerializer(serializers.Serializer[Any]):
    """What is wrong, and where in the file."""

    row = serializers.IntegerField()
    column = serializers.CharField(help_text="As a spreadsheet calls it, with its header.")
    message = serializers.CharField()


class ImportPreviewSerializer(serializers.Serializer[Any]):
    """What a draft would come to."""

    comes_to = serializers.CharField()
    notes = serializers.ListField(child=serializers.CharField())
    problems = ImportProblemSerializer(many=True)


@extend_schema_view(create=creates(ImportSerializer, ImportCreateSerializer))
class ImportView(ListsOfTeams, CreateOnceMixin, Listed):
    """Files of runs or sheets, of the teams one crews; sent as `multipart/form-data`."""

    queryset = Import.objects.select_related("team__club").order_by("-id")
    serializer_class = ImportSerializer
    create_serializer_class = ImportCreateSerializer
    filterset_fields = ("team", "kind", "state")
    parser_classes = (MultiPartParser, JSONParser)

    def get_queryset(self) -> QuerySet[Import]:
        """A list without the cells, which nothing tells."""
        rows = super().get_queryset()
        return rows.defer("cells", "flaws") if self.action == "list" else rows

    def make(self, *, row_id: UUID, **given: Any) -> Import:
        """Reads the file; an archive is left to the worker."""
        file = given.pop("file")
        file.seek(0)
        if given["kind"] == Import.Kind.ARCHIVE:
            sent = {"team": given["team"], "file_name": file.name, "content": json_of(file)}
            return begin_archive(by=self.by, import_id=row_id, **sent)
        content = file.read()
        return begin_import(
            by=self.by, import_id=row_id, file_name=file.name, content=content, **given
        )

    def sent(self, request: Request) -> Any:
        """As CreateOnceMixin: of the file its hash."""
        form: Any = request.data
        file = form["file"]
        file.seek(0)
        return {**form.dict(), "file": hashlib.sha256(file.read()).hexdigest()}

    @extend_schema(responses=ImportPreviewSerializer)
    @action(detail=True, filterset_fields=(), pagination_class=None)
    def preview(self, *_: Any, **__: Any) -> Response:
        """What a draft would come to, with every problem by row and column."""
        shown = show_draft(self.get_object(), self.by)
        return Response(ImportPreviewSerializer(shown).data)

    @extend_schema(request=ImportColumnsSerializer, responses={200: ImportSerializer, **REFUSED})
    @action(detail=True, methods=["put"])
    def columns(self, request: Request, **_: Any) -> Response:
        """Says what each column of a draft is for."""
        given = ImportColumnsSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        columns = given.validated_data["columns"]
        return self._answered(choose_columns(by=self.by, row=self.get_object(), columns=columns))

    @extend_schema(request=None, responses={200: ImportSerializer, **REFUSED})
    @action(detail=True, methods=["post"])
    def confirm(self, *_: Any, **__: Any) -> Response:
        """Brings it in, whole or not at all; above 200 rows in the background."""
        return self._answered(confirm_import(by=self.by, row=self.get_object()))

    @extend_schema(request=None, responses={200: ImportSerializer, **REFUSED})
    @action(detail=True, methods=["post"])
    def drop(self, *_: Any, **__: Any) -> Response:
        """A draft that is not to be brought in."""
        return self._answered(drop_import(by=self.by, row=self.get_object()))

    @extend_schema(request=None, responses={200: ImportSerializer, **REFUSED})
    @action(detail=True, methods=["post"])
    def withdraw(self, *_: Any, **__: Any) -> Response:
        """Hides all that it brought in, unless something rests on it."""
        return self._answered(withdraw_import(by=self.by, row=self.get_object()))

    def _answered(self, done: Import) -> Response:
        return Response(self.answer(self.get_queryset().get(pk=done.pk)))
