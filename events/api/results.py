"""The API of a team's own results."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from clubsetup.access.api.me import asking
from events.api.serializers import EntrySerializer
from events.api.tech_serializers import ENTRY_STATES, FindingSerializer
from events.models import Entry
from events.permissions import check_can_see_results
from events.presenters.results import results_of
from events.queries.results import entries_of
from teams.models import Team
from teams.queries.reads import note_reader


class ResultSerializer(serializers.Serializer[Any]):
    """One entry, where it stands, and what would make it legal."""

    entry = EntrySerializer()
    state = serializers.ChoiceField(ENTRY_STATES)
    findings = FindingSerializer(many=True)
    remedies = serializers.ListField(child=serializers.CharField())


class TeamResults(generics.GenericAPIView[Entry]):
    """For the team, its coaches, and the officials and stewards of its club."""

    serializer_class = ResultSerializer
    filter_backends = ()

    def get_queryset(self) -> QuerySet[Entry]:
        """The team's entries, the newest first."""
        return entries_of([self.kwargs["pk"]])

    @extend_schema(responses=ResultSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """What the team's entries came to, the newest first, and what would make them legal."""
        team, by = get_object_or_404(Team.objects.select_related("club"), pk=pk), asking(request)
        check_can_see_results(by, team)
        note_reader(by, pk, team)
        entries = self.paginate_queryset(self.get_queryset()) or []
        results = results_of(entries, by.units(team.club.units()))
        return self.get_paginated_response(ResultSerializer(results, many=True).data)
