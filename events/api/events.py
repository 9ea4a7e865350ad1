"""The API of events, their classes and entries."""

from typing import Any
from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import (
    OpenApiParameter,
    OpenApiResponse,
    extend_schema,
    extend_schema_view,
)
from rest_framework import mixins, status
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.api.me import asking
from events.actions import entries
from events.actions import events as actions
from events.api import serializers as s
from events.api.tech_serializers import DeskRowSerializer
from events.models import Entry, Event, EventClass
from events.permissions import check_can_confirm, check_can_enter_walk_in
from events.queries.desk import desk
from events.queries.published import published_findings, start_list
from events.queries.walk_in import cars_by_number
from teams.api.base import ListsOfClubs, ListsOfTeamsAndDesks, NotesReaderOfOne

NUMBER = OpenApiParameter("number", OpenApiTypes.STR, required=True)
SEARCH = OpenApiParameter("search", OpenApiTypes.STR, description="A number or a name.")


@extend_schema_view(create=creates(s.EventSerializer, s.EventCreateSerializer))
class Events(ListsOfClubs, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin):
    """The events of the person's clubs."""

    queryset = Event.objects.select_related("club").order_by("-id")
    serializer_class = s.EventSerializer
    create_serializer_class = s.EventCreateSerializer
    filterset_fields = ("club", "state", "track")

    def make(self, *, row_id: UUID, **given: Any) -> Event:
        """Plans an event."""
        return actions.plan_event(by=asking(self.request), event_id=row_id, **given)

    def _moved(self, move: Any, **more: Any) -> Response:
        done = move(by=asking(self.request), event=self.get_object(), **more)
        return Response(s.EventSerializer(done).data)

    @extend_schema(
        request=s.StartEventSerializer,
        responses={
            200: s.EventSerializer,
            409: OpenApiResponse(
                description="Not now. With `confirm: another_day`, today is none of the event's "
                "days: send `another_day: true` if that is meant."
            ),
        },
    )
    @action(detail=True, methods=["post"])
    def start(self, request: Request, **_: Any) -> Response:
        """Opens the desk. On another day than the event's own only with `another_day`."""
        given = s.StartEventSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        return self._moved(actions.start_event, **given.validated_data)

    @extend_schema(request=None, responses=s.EventSerializer)
    @action(detail=True, methods=["post"])
    def end(self, *_: Any, **__: Any) -> Response:
        """Closes the desk."""
        return self._moved(actions.end_event)

    @extend_schema(request=None, responses=s.EventSerializer)
    @action(detail=True, methods=["post"])
    def reopen(self, *_: Any, **__: Any) -> Response:
        """Opens the desk again."""
        return self._moved(actions.reopen_event)

    @extend_schema(request=None, responses=s.EventSerializer)
    @action(detail=True, methods=["post"], url_path="publish-findings")
    def publish_findings(self, *_: Any, **__: Any) -> Response:
        """Lets members see the outcomes."""
        return self._moved(actions.publish_findings)

    @extend_schema(request=None, responses=s.EventSerializer)
    @action(detail=True, methods=["post"], url_path="withhold-findings")
    def withhold_findings(self, *_: Any, **__: Any) -> Response:
        """Lets members see the outcomes no longer."""
        return self._moved(actions.publish_findings, published=False)

    @extend_schema(responses=s.ListedSerializer(many=True), filters=False)
    @action(detail=True, url_path="start-list", pagination_class=None, filterset_fields=())
    def start_list(self, *_: Any, **__: Any) -> Response:
        """Number and display name of every entry."""
        lines = start_list(self.get_object().pk)
        return Response(s.ListedSerializer([line._asdict() for line in lines], many=True).data)

    @extend_schema(responses=s.PublishedFindingSerializer(many=True), filters=False)
    @action(detail=True, url_path="published-findings", pagination_class=None, filterset_fields=())
    def published(self, *_: Any, **__: Any) -> Response:
        """The outcomes that the club publishes."""
        lines = [line._asdict() for line in published_findings(self.get_object().pk)]
        return Response(s.PublishedFindingSerializer(lines, many=True).data)

    @extend_schema(responses=DeskRowSerializer(many=True), parameters=[SEARCH], filters=False)
    @action(detail=True, pagination_class=None, filterset_fields=())
    def desk(self, request: Request, *_: Any, **__: Any) -> Response:
        """Every entry and where it stands; officials and stewards."""
        event = self.get_object()
        check_can_enter_walk_in(asking(request), event)
        rows = desk(event, request.query_params.get("search", ""))
        return Response(DeskRowSerializer(rows, many=True).data)

    @extend_schema(responses=s.CarByNumberSerializer(many=True), parameters=[NUMBER], filters=False)
    @action(detail=True, url_path="cars-by-number", pagination_class=None, filterset_fields=())
    def cars_by_number(self, request: Request, *_: Any, **__: Any) -> Response:
        """Cars of that number, to enter one by hand; officials and stewards."""
        event = self.get_object()
        check_can_enter_walk_in(asking(request), event)
        number = request.query_params.get("number", "")
        cars = [car._asdict() for car in cars_by_number(event.pk, number)]
        return Response(s.CarByNumberSerializer(cars, many=True).data)


@extend_schema_view(create=creates(s.EventClassSerializer, s.EventClassCreateSerializer))
class EventClasses(ListsOfClubs, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin):
    """Classes run at events, with the rules that the event froze."""

    queryset = EventClass.objects.select_related("race_class", "event__club").order_by("-id")
    serializer_class = s.EventClassSerializer
    create_serializer_class = s.EventClassCreateSerializer
    filterset_fields = ("event", "race_class")

    def make(self, *, row_id: UUID, **given: Any) -> EventClass:
        """Runs a class at the event."""
        return actions.add_event_class(by=asking(self.request), event_class_id=row_id, **given)

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, *_: Any, **__: Any) -> Response:
        """Takes a class that nobody entered out of the event."""
        actions.remove_event_class(by=asking(request), event_class=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)


@extend_schema_view(create=creates(s.EntrySerializer, s.EntryCreateSerializer))
class Entries(
    ListsOfTeamsAndDesks,
    NotesReaderOfOne,
    CreateOnceMixin,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
):
    """Entries: a team's own, and for officials and stewards those of their club's events."""

    queryset = Entry.objects.select_related("event__club", "event_class__race_class").order_by(
        "-id"
    )
    serializer_class = s.EntrySerializer
    create_serializer_class = s.EntryCreateSerializer
    filterset_fields = ("event", "event_class", "team", "number")

    def make(self, *, row_id: UUID, **given: Any) -> Entry:
        """Enters a car of the person's team."""
        return entries.enter(by=asking(self.request), entry_id=row_id, **given)

    @extend_schema(request=s.EntryByHandSerializer, responses={201: s.EntrySerializer})
    @action(detail=False, methods=["post"], url_path="walk-in")
    def walk_in(self, request: Request, **_: Any) -> Response:
        """An official enters a car that stands at the scales."""
        given = s.EntryByHandSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        made = entries.enter_walk_in(by=asking(request), **given.validated_data)
        return Response(s.EntrySerializer(made).data, status.HTTP_201_CREATED)

    @extend_schema(request=s.EntryConfirmSerializer, responses=s.EntrySerializer)
    @action(detail=True, methods=["post"])
    def confirm(self, request: Request, **_: Any) -> Response:
        """The team's crew stand by an entry that was made by hand, and say who drives."""
        entry = self.get_object()
        check_can_confirm(asking(request), entry)
        given = s.EntryConfirmSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = entries.confirm_entry(by=asking(request), entry=entry, **given.validated_data)
        return Response(s.EntrySerializer(done).data)

    @extend_schema(request=s.EntryNumberSerializer, responses=s.EntrySerializer)
    def partial_update(self, request: Request, *_: Any, **__: Any) -> Response:
        """Changes the number."""
        given = s.EntryNumberSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        entry = self.get_object()
        done = entries.renumber_entry(by=asking(request), entry=entry, **given.validated_data)
        return Response(s.EntrySerializer(done).data)

    @extend_schema(request=None, responses=s.EntrySerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request: Request, **_: Any) -> Response:
        """Takes the entry off the start list."""
        done = entries.withdraw_entry(by=asking(request), entry=self.get_object())
        return Response(s.EntrySerializer(done).data)

    @extend_schema(request=None, responses=s.EntrySerializer)
    @action(detail=True, methods=["post"])
    def restore(self, request: Request, **_: Any) -> Response:
        """Puts a withdrawn entry on the start list again."""
        done = entries.restore_entry(by=asking(request), entry=self.get_object())
        return Response(s.EntrySerializer(done).data)
