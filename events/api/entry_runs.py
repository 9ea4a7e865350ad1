"""The API of which entry a run belongs to."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.models import Run
from cars.permissions import check_can_note_run
from clubsetup.access.api.me import asking
from events.actions.entry_runs import tie_run
from events.models import Entry


class RunEntryWriteSerializer(serializers.Serializer[Any]):
    """The entry that a run belongs to."""

    entry = serializers.PrimaryKeyRelatedField(
        queryset=Entry.objects.select_related("event"),
        allow_null=True,
        help_text="An entry of the car that ran; null: the run belongs to none.",
    )


class RunEntryView(APIView):
    """Which entry a run belongs to: the team's own affair, and never the officials'."""

    @extend_schema(
        request=RunEntryWriteSerializer,
        responses={
            200: RunEntryWriteSerializer,
            409: OpenApiResponse(description="The run is struck: it stays as it is."),
        },
    )
    def put(self, request: Request, pk: UUID) -> Response:
        """Ties the run to an entry, or to none; sent twice it is tied once."""
        by = asking(request)
        run = get_object_or_404(Run.objects.select_related("team"), pk=pk)
        check_can_note_run(by, run)
        given = RunEntryWriteSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        tie_run(by=by, run=run, **given.validated_data)
        return Response(RunEntryWriteSerializer(given.validated_data).data)
