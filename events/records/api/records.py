"""The API of an event's records: how many, the last hash of their chain, and the files."""

from typing import Any
from uuid import UUID

from django.http import HttpResponseBase
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from clubsetup.access.api.me import asking
from clubsetup.access.reauthentication import check_still_you
from events.models import Event
from events.permissions import check_can_enter_walk_in
from events.records.actions.words import erase_words
from events.records.api.base import FileRenderer
from events.records.queries.records import chain_end
from events.records.responses import TYPES, records_response
from teams.permissions import check_can_steward

EVENTS = Event.objects.select_related("club")
KIND = OpenApiParameter("kind", enum=list(TYPES), required=True, description="Which file.")


class ChainSerializer(serializers.Serializer[Any]):
    """The chain of an event's records as it is now."""

    lines = serializers.IntegerField()
    last_hash = serializers.CharField(help_text="As the record book prints it.")
    last_at = serializers.DateTimeField(allow_null=True)


class LineSerializer(serializers.Serializer[Any]):
    """Which line of the chain."""

    line = serializers.IntegerField(min_value=1, max_value=2**31 - 1)


class ErasedWords(APIView):
    """For stewards of the club."""

    @extend_schema(request=LineSerializer, responses={204: None})
    def post(self, request: Request, pk: UUID) -> Response:
        """Erases, for good, what somebody wrote in words about a record; its hash stays."""
        event, given = get_object_or_404(EVENTS, pk=pk), LineSerializer(data=request.data)
        check_can_steward(asking(request), event.club)
        check_still_you(request._request)
        given.is_valid(raise_exception=True)
        erase_words(by=asking(request), event=event, **given.validated_data)
        return Response(status=status.HTTP_204_NO_CONTENT)


class CsvRenderer(FileRenderer):
    """For `text/csv`."""

    media_type = "text/csv"
    format = "csv"


class ZipRenderer(FileRenderer):
    """For `application/zip`."""

    media_type = "application/zip"
    format = "zip"


class EventRecords(APIView):
    """For officials and stewards of the club."""

    @extend_schema(responses=ChainSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """How many records there are, and the last hash of their chain."""
        event = get_object_or_404(EVENTS, pk=pk)
        check_can_enter_walk_in(asking(request), event)
        end = chain_end(event)
        last = {"last_hash": end.last_hash, "last_at": end.last_at}
        return Response(ChainSerializer({"lines": end.length, **last}).data)


class EventRecordsFile(APIView):
    """For officials and stewards of the club; the trail says who took it."""

    renderer_classes = (JSONRenderer, CsvRenderer, ZipRenderer)

    @extend_schema(
        parameters=[KIND],
        responses={
            (200, "application/json"): OpenApiTypes.OBJECT,
            (200, "text/csv"): OpenApiTypes.STR,
            (200, "application/zip"): OpenApiTypes.BINARY,
        },
    )
    def get(self, request: Request, pk: UUID) -> HttpResponseBase:
        """The records: `json` with the chain of hashes, `csv` to read, or both with the photos in a
        `zip`."""
        event = get_object_or_404(EVENTS, pk=pk)
        kind = request.query_params.get("kind", "")
        return records_response(by=asking(request), event=event, kind=kind)
