"""The API of coaches' advice."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from cars.api_base import Listed
from cars.figures.tolerances import target_limits
from cars.history.actions.advice import leave_advice, reply_to_advice, tick_off_advice
from cars.history.api import serializers as s
from cars.models import Advice, AdviceReply
from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.api.idempotency import answers_once, by_id, made_once
from clubsetup.access.errors import Invalid
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, Typed, parse
from clubsetup.quantities.units import Units
from teams.api.base import ListsOfTeams, NotesReaders


@extend_schema_view(create=creates(s.AdviceSerializer, s.AdviceCreateSerializer))
class AdviceView(ListsOfTeams, NotesReaders, CreateOnceMixin, Listed):
    """Advice to one's teams and to those one coaches."""

    queryset = (
        Advice.objects.select_related("measure", "team__club")
        .prefetch_related("replies")
        .order_by("-id")
    )
    serializer_class = s.AdviceSerializer
    create_serializer_class = s.AdviceCreateSerializer
    filterset_fields = {
        "car": ["exact"],
        "by": ["exact"],
        "measure": ["exact"],
        "done_at": ["isnull"],
    }

    def make(self, *, row_id: UUID, **given: Any) -> Advice:
        """Leaves it."""
        units = self.by.units(given["car"].team.club.units())
        given["wanted"] = _wanted(given, units)
        return leave_advice(by=self.by, advice_id=row_id, **given)

    @extend_schema(request=s.ReplyCreateSerializer, responses=answers_once(s.AdviceReplySerializer))
    @action(detail=True, methods=["post"])
    def replies(self, request: Request, **_: Any) -> Response:
        """Answers it; the crew's answer takes it off the pages of the car."""
        advice = self.get_object()
        given = s.ReplyCreateSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        content = dict(given.validated_data)

        def make(chosen: UUID) -> AdviceReply:
            return reply_to_advice(by=self.by, advice=advice, reply_id=chosen, **content)

        row, code = made_once(request, content.pop("id", None), make, by_id(AdviceReply))
        return Response(s.AdviceReplySerializer(row).data, code)

    @extend_schema(
        request=None,
        responses={
            200: s.AdviceSerializer,
            409: OpenApiResponse(description="It is ticked off already."),
        },
    )
    @action(detail=True, methods=["post"], url_path="tick-off")
    def tick_off(self, *_: Any, **__: Any) -> Response:
        """Done, or not to be done."""
        done = tick_off_advice(by=self.by, advice=self.get_object())
        return Response(self.answer(self.get_queryset().get(pk=done.pk)))


def _wanted(given: dict[str, Any], units: Units) -> Typed | None:
    text, measure = given["wanted"].strip(), given["measure"]
    if not text:
        return None
    if measure is None or not measure.kind:
        raise Invalid("wanted", "Say of which measure this is the figure.")
    try:
        return parse(text, Kind(measure.kind), units=units, limits=target_limits(measure))
    except QuantityError as refusal:
        raise Invalid("wanted", refusal.message) from refusal
