"""The API of tables of suggestions."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_view
from rest_framework import mixins, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from cars.api_base import Listed
from cars.lookups import WHOSE
from cars.models import Suggestion, SuggestionTable
from cars.runs.actions import suggestions as actions
from cars.runs.api import suggestion_serializers as s
from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.idempotency import create_once
from teams.api.base import ByPerson, ListsOwnRows
from teams.queries.reads import note_reader, note_readers
from teams.queries.roles import Roles

SENT_BEFORE = "The same was sent before under this id: the existing row."


@extend_schema_view(create=creates(s.SuggestionTableSerializer, s.SuggestionTableCreateSerializer))
class SuggestionTables(ListsOwnRows, CreateOnceMixin, Listed):
    """Tables of what to try: the clubs', one's own as a coach, those of one's teams and their
    coaches. A draft is its keepers', and a team's is read by its readers."""

    queryset = SuggestionTable.objects.select_related(*WHOSE).order_by("-id")
    serializer_class = s.SuggestionTableSerializer
    create_serializer_class = s.SuggestionTableCreateSerializer
    filterset_fields = ("club", "team", "coach", "state")

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Of the person's clubs, teams and coaches."""
        return rows.of_reader(self.by, roles.member_clubs, roles.readable_teams)

    def get_object(self) -> SuggestionTable:
        """The table; a coach who reads a team's stands in its trail."""
        table: SuggestionTable = super().get_object()
        if table.team_id is not None:
            note_reader(self.by, table.team_id, table)
        return table

    def paginate_queryset(self, queryset: Any) -> Any:
        """The page, and a line for each team whose tables are on it."""
        rows = super().paginate_queryset(queryset)
        note_readers(self.by, (row.team_id for row in rows or () if row.team_id))
        return rows

    def make(self, *, row_id: UUID, **given: Any) -> SuggestionTable:
        """Starts a draft."""
        coach = self.by if given.pop("as_coach") else None
        return actions.draft_suggestions(by=self.by, table_id=row_id, coach=coach, **given)

    @extend_schema(responses=s.SuggestionSerializer(many=True))
    @action(detail=True, pagination_class=None, filterset_fields=())
    def suggestions(self, *_: Any, **__: Any) -> Response:
        """The rows of a table, in order."""
        return Response(s.SuggestionSerializer(self.get_object().suggestions.all(), many=True).data)

    @extend_schema(
        request=s.SuggestionCreateSerializer,
        responses={
            201: s.SuggestionSerializer,
            200: OpenApiResponse(s.SuggestionSerializer, SENT_BEFORE),
        },
    )
    @suggestions.mapping.post
    def add_suggestion(self, request: Request, *_: Any, **__: Any) -> Response:
        """A row at the end of a draft."""
        table = self.get_object()
        sent = s.SuggestionCreateSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        row_id = sent.validated_data.pop("id", None)
        given = actions.SuggestionGiven(**sent.validated_data)
        row, made = create_once(
            by=self.by,
            row_id=row_id,
            content=[request.path, request.data],
            make=lambda chosen: actions.add_suggestion(
                by=self.by, table=table, given=given, suggestion_id=chosen
            ),
            find=lambda chosen: table.suggestions.filter(pk=chosen).first(),
        )
        return Response(s.SuggestionSerializer(row).data, status=201 if made else 200)

    @extend_schema(request=s.PublishSuggestionsSerializer, responses=s.SuggestionTableSerializer)
    @action(detail=True, methods=["post"])
    def publish(self, request: Request, *_: Any, **__: Any) -> Response:
        """Puts a draft in force; what was is retired."""
        given = s.PublishSuggestionsSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = actions.publish_suggestions(
            by=self.by, table=self.get_object(), **given.validated_data
        )
        return Response(s.SuggestionTableSerializer(done).data)

    @extend_schema(
        responses={204: None, 409: OpenApiResponse(description="It is published and stays.")}
    )
    def destroy(self, *_: Any, **__: Any) -> Response:
        """Throws a draft away with its rows; what was in force stays to be read."""
        actions.throw_away_draft(by=self.by, table=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)

    @extend_schema(request=None, responses=s.SuggestionTableSerializer)
    @action(detail=True, methods=["post"])
    def retire(self, *_: Any, **__: Any) -> Response:
        """Takes a table out of force, with nothing in its place."""
        done = actions.retire_suggestions(by=self.by, table=self.get_object())
        return Response(s.SuggestionTableSerializer(done).data)


class Suggestions(ByPerson, mixins.RetrieveModelMixin, GenericViewSet[Suggestion]):
    """The rows of tables, one by one; all of a table under suggestion-tables/{id}/suggestions."""

    queryset = Suggestion.objects.select_related(*(f"table__{name}" for name in WHOSE))
    serializer_class = s.SuggestionSerializer

    def get_object(self) -> Suggestion:
        """The row; a coach who reads a team's stands in its trail."""
        row: Suggestion = super().get_object()
        if row.table.team_id is not None:
            note_reader(self.by, row.table.team_id, row.table)
        return row

    @extend_schema(request=s.SuggestionGivenSerializer, responses=s.SuggestionSerializer)
    def update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Another row of a draft in place of this one."""
        row = self.get_object()
        given = s.SuggestionGivenSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = actions.change_suggestion(
            by=self.by, suggestion=row, given=actions.SuggestionGiven(**given.validated_data)
        )
        return Response(s.SuggestionSerializer(done).data)

    @extend_schema(request=s.MoveSuggestionSerializer, responses=s.SuggestionSerializer)
    @action(detail=True, methods=["post"])
    def move(self, request: Request, *_: Any, **__: Any) -> Response:
        """Puts a row of a draft one up or one down among those for the same place."""
        given = s.MoveSuggestionSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        up = given.validated_data["way"] == "up"
        row = actions.move_suggestion(by=self.by, suggestion=self.get_object(), up=up)
        return Response(s.SuggestionSerializer(row).data)

    @extend_schema(responses={204: None})
    def destroy(self, *_: Any, **__: Any) -> Response:
        """Takes a row out of a draft."""
        actions.remove_suggestion(by=self.by, suggestion=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)
