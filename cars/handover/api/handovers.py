"""The API of handovers."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiResponse, extend_schema, extend_schema_view
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from cars.api_base import Listed
from cars.catalogue.queries import catalogue
from cars.handover.actions.handovers import (
    GONE,
    offer_car,
    take_car,
    take_car_back,
    withdraw_offer,
)
from cars.handover.api import serializers as s
from cars.handover.queries.goods import goods_of
from cars.handover.queries.offers import handovers_of, offer_of
from cars.handover.queries.package import make_package
from cars.handover.queries.ticks import ticks_of
from cars.models import Handover
from clubsetup.access.api.creating import CreateOnceMixin, creates
from clubsetup.access.errors import Invalid
from clubsetup.access.limits import count_against_limit
from teams.api.base import ListsOwnRows
from teams.permissions import check_can_lead
from teams.queries.roles import Roles

NOT_NOW = {409: OpenApiResponse(description="Not now; the detail says why.")}


@extend_schema_view(create=creates(s.HandoverMadeSerializer, s.HandoverCreateSerializer))
class HandoverView(ListsOwnRows, CreateOnceMixin, Listed):
    """Handovers of the teams one is chief of."""

    queryset = Handover.objects.order_by("-id")
    serializer_class = s.HandoverSerializer
    create_serializer_class = s.HandoverCreateSerializer
    filterset_fields = ("car", "team")

    def own_rows(self, rows: Any, roles: Roles) -> Any:
        """Given or taken by a team one is chief of."""
        own = handovers_of(self.by).values("pk")
        return rows.filter(pk__in=own)

    def make(self, *, row_id: UUID, **given: Any) -> Handover:
        """Offers the car and keeps the code for the answer."""
        given.pop("season")
        row, code = offer_car(by=self.by, handover_id=row_id, **given)
        row.code = code  # type: ignore[attr-defined]
        return row

    def answer(self, row: Any) -> dict[str, Any]:
        """With the code where it was made just now."""
        made = hasattr(row, "code")
        written = s.HandoverMadeSerializer if made else s.HandoverSerializer
        data: dict[str, Any] = written(row).data
        return data

    @extend_schema(request=s.HandoverCreateSerializer, responses=s.PreviewSerializer)
    @action(detail=False, methods=["post"])
    def preview(self, request: Request) -> Response:
        """What would go along, and what stays unless it is ticked. Nothing is offered."""
        given = s.HandoverCreateSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        chosen = given.validated_data
        car, history = chosen["car"], chosen["history"]
        check_can_lead(self.by, car.team)
        goods = goods_of(car, history, chosen["ticked"], chosen["season"])
        shown = {
            "ticks": ticks_of(goods, catalogue()),
            "package": make_package(goods, chosen["ticked"]),
        }
        return Response(s.PreviewSerializer(shown).data)

    @extend_schema(request=None, responses={200: s.HandoverSerializer, **NOT_NOW})
    @action(detail=True, methods=["post"])
    def withdraw(self, *_: Any, **__: Any) -> Response:
        """Makes the code worthless."""
        done = withdraw_offer(by=self.by, handover=self.get_object())
        return Response(s.HandoverSerializer(done).data)

    @extend_schema(request=None, responses={200: s.HandoverSerializer, **NOT_NOW})
    @action(detail=True, methods=["post"], url_path="take-back")
    def take_back(self, *_: Any, **__: Any) -> Response:
        """The giver has the car again, until the receiver has written on it."""
        done = take_car_back(by=self.by, handover=self.get_object())
        return Response(s.HandoverSerializer(done).data)

    @extend_schema(request=s.CodeSerializer, responses=s.OfferSerializer)
    @action(detail=False, methods=["post"])
    def offered(self, request: Request) -> Response:
        """What a code offers, to be read before it is taken."""
        given = s.CodeSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        count_against_limit(self.by, "codes")
        offer = offer_of(given.validated_data["code"])
        if offer is None:
            raise Invalid("code", GONE)
        return Response(s.OfferSerializer(offer).data)

    @extend_schema(request=s.TakeSerializer, responses={200: s.HandoverSerializer, **NOT_NOW})
    @action(detail=False, methods=["post"])
    def take(self, request: Request) -> Response:
        """The receiver's chief confirms: the car and what goes along are theirs."""
        given = s.TakeSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        done = take_car(by=self.by, **given.validated_data)
        return Response(s.HandoverSerializer(done).data)
