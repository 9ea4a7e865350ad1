"""The API of the parts on a car, as a sheet has it."""

from uuid import UUID

from django.db import transaction
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.lookups import sheet_or_404
from cars.models import Sheet
from cars.permissions import check_can_fit_part, check_can_see_parts
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.api import part_serializers as s
from cars.sheets.presenters.parts_fitted import fitted_view
from clubsetup.access.api.me import asking
from clubsetup.access.models import User


class SheetParts(APIView):
    """The team's parts on the car, as a sheet has it."""

    @extend_schema(responses=s.FittedPlaceSerializer(many=True))
    def get(self, request: Request, pk: UUID) -> Response:
        """Every spot; for those who may see the team's codes."""
        sheet, by = sheet_or_404(request, pk), asking(request)
        check_can_see_parts(by, sheet.team)
        return _corners(sheet, by)

    @extend_schema(
        request=s.FitsSerializer,
        responses={
            200: s.FittedPlaceSerializer(many=True),
            409: OpenApiResponse(
                description="The sheet is closed, or somebody put another part there since."
            ),
        },
    )
    def put(self, request: Request, pk: UUID) -> Response:
        """Puts parts on the car: all of them or none. A spring brings its rate into its box; the
        same part again does nothing, so that sending twice does it once.
        """
        sheet, by = sheet_or_404(request, pk), asking(request)
        check_can_fit_part(by, sheet)
        given = s.FitsSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        with transaction.atomic():
            for one in given.validated_data["parts"]:
                fit_part(by=by, sheet=sheet, **one)
        return _corners(sheet, by)


def _corners(sheet: Sheet, by: User) -> Response:
    places = [place for sort in fitted_view(sheet, by) for place in sort.places]
    return Response(s.FittedPlaceSerializer(places, many=True).data)
