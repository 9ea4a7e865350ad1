"""Archives of teams over the API: ask for one, read its state, fetch it."""

import json
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import FileResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiResponse,
    extend_schema,
    extend_schema_field,
    extend_schema_view,
)
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView
from rest_framework.viewsets import GenericViewSet

from cars.exchange.actions.exports import TEAM_ARCHIVE, export_team
from cars.exchange.files.archive_schema import published_schema
from cars.exchange.queries.exports import exports_of
from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.models import User
from clubsetup.printing.files import file_response
from clubsetup.printing.models import PrintJob
from clubsetup.printing.registry import zip_keys
from teams.api.base import ByPerson
from teams.models import Team


class ExportAskSerializer(CreateOnceSerializer):
    """Whose archive."""

    team = serializers.PrimaryKeyRelatedField(queryset=Team.objects.select_related("club"))


class ExportSerializer(serializers.ModelSerializer[PrintJob]):
    """An archive that was asked for, and how far it is."""

    team = serializers.UUIDField(source="subject_id")
    seen_as = serializers.SerializerMethodField(help_text="`crew`: all; `coach`: what it may see.")
    bytes = serializers.IntegerField(source="stored.bytes", default=None, allow_null=True)
    file = serializers.SerializerMethodField(help_text="Where the ZIP is, once it is ready.")

    class Meta:
        model = PrintJob
        fields = (
            *("id", "team", "seen_as", "title", "state", "problem"),
            *("created_at", "finished_at", "bytes", "file"),
        )
        read_only_fields = fields

    @extend_schema_field(
        {"type": "string", "description": "`crew`: all; `coach`: what it may see."}
    )
    def get_seen_as(self, job: PrintJob) -> str:
        """As what it was asked for."""
        return "crew" if job.document == TEAM_ARCHIVE else "coach"

    @extend_schema_field({"type": ["string", "null"], "format": "uri-reference"})
    def get_file(self, job: PrintJob) -> str | None:
        """The file's address."""
        return reverse("api-export-file", args=[job.pk]) if job.stored_id else None


class ZipRenderer(BaseRenderer):
    """Lets a client ask for `application/zip`; what goes wrong is still told as a problem."""

    media_type = "application/zip"
    format = "zip"
    charset = None

    def render(self, data: Any, *_: Any, **__: Any) -> bytes:
        """The problem's JSON; the file itself is not rendered but streamed."""
        return JSONRenderer().render(data)


@extend_schema_view(create=creates(ExportSerializer, ExportAskSerializer))
class Exports(
    ByPerson,
    CreateOnceMixin,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    GenericViewSet[PrintJob],
):
    """Everything a team owns as one archive: JSON with a schema, XLSX, prints. For its crew; a
    coach whom it lets in gets what the coach may see."""

    queryset = PrintJob.objects.select_related("stored").order_by("-id")
    serializer_class = ExportSerializer
    create_serializer_class = ExportAskSerializer
    filterset_fields = ("state",)

    def get_queryset(self) -> QuerySet[PrintJob]:
        """Those that the person asked for."""
        if isinstance(getattr(self.request, "user", None), User):
            return exports_of(self.by)
        return super().get_queryset().filter(document__in=zip_keys())

    def make(self, *, row_id: UUID, **given: Any) -> PrintJob:
        """As CreateOnceMixin."""
        return export_team(by=self.by, job_id=row_id, **given)

    @extend_schema(
        responses={
            (200, "application/zip"): OpenApiTypes.BINARY,
            404: OpenApiResponse(description="Not ready, or no longer yours to have."),
        }
    )
    @action(
        detail=True,
        url_path="file",
        renderer_classes=[JSONRenderer, ZipRenderer],
        filterset_fields=(),
        pagination_class=None,
    )
    def file(self, request: Request, **_: Any) -> FileResponse:
        """The finished archive, while the asker still may have it."""
        return file_response(self.get_object())


class ArchiveSchema(APIView):
    """For anybody who reads archives."""

    @extend_schema(responses={(200, "application/json"): OpenApiTypes.OBJECT})
    def get(self, _request: Request) -> Response:
        """The JSON Schema (2020-12) of `team.json` in an archive."""
        return Response(json.loads(published_schema()))
