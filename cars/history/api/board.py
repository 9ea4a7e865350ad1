"""The API of the coach's board."""

from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.history.api import serializers as s
from cars.history.queries.board import board_of
from cars.lookups import chassis_or_404
from clubsetup.access.api.me import asking
from clubsetup.access.errors import Invalid
from teams.models import Surface
from teams.queries.clocks import today_of
from teams.queries.reads import note_readers


class BoardView(APIView):
    """Linked cars of one chassis."""

    @extend_schema(
        parameters=[OpenApiParameter("surface", str, enum=Surface.values, default=Surface.PAVED)],
        responses=s.BoardSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """Each measure's middle, spread and the odd ones out; 404 for whoever coaches no car."""
        by, surface = asking(request), request.query_params.get("surface", Surface.PAVED)
        if surface not in Surface.values:
            raise Invalid("surface", "Choose paved or dirt.")
        board = board_of(by, chassis_or_404(pk), surface, today_of(by))
        if board is None:
            raise Http404
        note_readers(by, (one.car.team_id for one in board.cars))
        return Response(s.BoardSerializer(board).data)
