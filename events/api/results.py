"""The API of a team's own results."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from clubsetup.access.api.me import asking
from events.api.serializers import EntrySerializer
from events.api.tech_serializers import ENTRY_STATES, FindingSerializer
from events.permissions import check_can_see_results
from events.presenters.results import results_of
from teams.models import Team
from teams.queries.reads import note_reader


class ResultSerializer(serializers.Serializer[Any]):
    """One entry, where it stands, and what would make it legal."""

    entry = EntrySerializer()
    state = serializers.ChoiceField(ENTRY_STATES)
    findings = FindingSerializer(many=True)
    remedies = serializers.ListField(child=serializers.CharField())


class TeamResults(APIView):
    """For the team, its coaches, and the officials and stewards of its club."""

    @extend_schema(responses=ResultSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """What the team's newest entries came to, and what would make them legal."""
        team, by = get_object_or_404(Team.objects.select_related("club"), pk=pk), asking(request)
        check_can_see_results(by, team)
        note_reader(by, pk, team)
        results = results_of([team.pk], by.units(team.club.units()))
        return Response(ResultSerializer(results, many=True).data)
