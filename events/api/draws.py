"""The API of draws: made by officials, read and repeated by every member of the club."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.api.me import asking
from events.actions.draws import LONGEST, draw_cars
from events.models import Draw, Event, EventClass
from events.queries.draws import DrawView
from teams.api.base import ListsOfClubs


class DrawSerializer(serializers.ModelSerializer[Draw]):
    """A draw with its seed: enough for anybody to repeat it."""

    candidates = serializers.ListField(child=serializers.CharField())
    drawn = serializers.ListField(child=serializers.CharField())

    class Meta:
        model = Draw
        fields = (
            *("id", "event", "event_class", "by", "created_at", "device_at"),
            *("purpose", "seed", "method", "candidates", "drawn"),
        )


class DrawCreateSerializer(CreateOnceSerializer):
    """Cars to be drawn of the standing entries: of one class, or of all."""

    event = serializers.PrimaryKeyRelatedField(queryset=Event.objects.select_related("club"))
    event_class = serializers.PrimaryKeyRelatedField(
        queryset=EventClass.objects.all(), required=False, allow_null=True, default=None
    )
    purpose = serializers.CharField(max_length=LONGEST)
    count = serializers.IntegerField(min_value=1)
    seed = serializers.CharField(
        max_length=LONGEST, help_text="Said or thrown in front of everybody; once an event."
    )
    device_at = serializers.DateTimeField(required=False, allow_null=True, default=None)


class TicketSerializer(serializers.Serializer[Any]):
    """A car and the hash that gave it its place."""

    car = serializers.CharField()
    digest = serializers.CharField(source="hash", help_text="SHA-256 of `seed:car`, hexadecimal.")


class RepeatedSerializer(serializers.Serializer[Any]):
    """The same draw made again now."""

    repeats = serializers.BooleanField(help_text="It gives the cars that are kept.")
    tickets = TicketSerializer(many=True, help_text="In the order of the draw.")
    by_hand = serializers.CharField(help_text="A line for a shell that prints the cars drawn.")


@extend_schema_view(create=creates(DrawSerializer, DrawCreateSerializer))
class Draws(ListsOfClubs, CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin):
    """Draws of cars for a check; never changed."""

    queryset = Draw.objects.order_by("-id")
    serializer_class = DrawSerializer
    create_serializer_class = DrawCreateSerializer
    filterset_fields = ("event", "event_class")

    def make(self, *, row_id: UUID, **given: Any) -> Draw:
        """Draws."""
        return draw_cars(by=asking(self.request), draw_id=row_id, **given)

    @extend_schema(responses=RepeatedSerializer, filters=False)
    @action(detail=True, pagination_class=None, filterset_fields=())
    def repeat(self, request: Request, **_: Any) -> Response:
        """Draws again with the same seed; nothing is kept."""
        return Response(RepeatedSerializer(DrawView(self.get_object())).data)
