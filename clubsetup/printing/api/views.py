"""Prints over the API. A token needs the scope `print`."""

import json
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import FileResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_view
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.viewsets import GenericViewSet

from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.api.me import asking
from clubsetup.access.models import ApiToken, User
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.api.serializers import AskSerializer, PrintJobSerializer
from clubsetup.printing.files import file_response
from clubsetup.printing.models import PrintJob
from clubsetup.printing.registry import zip_keys


class PdfRenderer(BaseRenderer):
    """Lets a client ask for `application/pdf`; what goes wrong is still told as a problem."""

    media_type = "application/pdf"
    format = "pdf"
    charset = None

    def render(self, data: Any, *_: Any, **__: Any) -> bytes:
        """The problem's JSON; the file itself is not rendered but streamed."""
        return json.dumps(data, default=str).encode()


@extend_schema_view(create=creates(PrintJobSerializer, AskSerializer))
class Prints(
    CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin, GenericViewSet[PrintJob]
):
    """My prints: `POST` asks for one, then read its state until it is ready."""

    queryset = PrintJob.objects.select_related("stored").order_by("-id")
    serializer_class = PrintJobSerializer
    create_serializer_class = AskSerializer
    filterset_fields = ("document", "subject_id", "state")
    read_scope = write_scope = ApiToken.Scope.PRINT

    def get_queryset(self) -> QuerySet[PrintJob]:
        """A list's own: those the person asked for, as the policy has it too."""
        rows = super().get_queryset().exclude(document__in=zip_keys())
        user = getattr(self.request, "user", None)
        listed = self.action == "list" and isinstance(user, User)
        return rows.filter(asked_by=user) if listed else rows

    def make(self, *, row_id: UUID, **given: Any) -> PrintJob:
        """As CreateOnceMixin."""
        return ask_for_print(by=asking(self.request), job_id=row_id, **given)

    @extend_schema(
        responses={
            (200, "application/pdf"): OpenApiTypes.BINARY,
            404: OpenApiResponse(description="Not ready, or not yours to see."),
        }
    )
    @action(
        detail=True,
        url_path="file",
        renderer_classes=[JSONRenderer, PdfRenderer],
        filterset_fields=(),
        pagination_class=None,
    )
    def file(self, request: Request, **_: Any) -> FileResponse:
        """The finished print, while its subject still is the asker's to see."""
        return file_response(self.get_object())
