"""The API of back to a track."""

from typing import Any
from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.history.api import back_serializers as s
from cars.history.presenters.back_to_track import fastest_words
from cars.history.presenters.way_back import show_way_back
from cars.history.queries.back_to_track import (
    A_PAGE,
    Place,
    SetThere,
    fastest_of,
    place_asked,
    places_of,
    sheets_at,
    with_runs,
)
from cars.history.queries.way_back import way_back
from cars.lookups import car_or_404, set_sheet_or_404
from clubsetup.access.api.me import asking
from clubsetup.access.errors import Invalid
from clubsetup.site.list_pages import before_of, page_of


class BackToTrackView(APIView):
    """How a car was set at a track before."""

    @extend_schema(
        parameters=[
            OpenApiParameter("track", OpenApiTypes.UUID, description="Else where it was last."),
            OpenApiParameter("surface", str),
            OpenApiParameter("before", OpenApiTypes.UUID, description="`next` of the page before."),
        ],
        responses=s.BackToTrackSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """The sheets as set there, the newest first, with the runs on each; and which was fastest,
        where that can be told."""
        car = car_or_404(request, pk)
        asked = request.query_params
        before = before_of(asked)
        places = places_of(car)
        place = place_asked(places, asked.get("track", ""), asked.get("surface", ""))
        if place is None:
            if places or asked.get("track"):
                raise Invalid("track", "The car was not set there, or not on that surface.")
            return Response(s.BackToTrackSerializer(_answer(places, None, [], "", None)).data)
        page, more = page_of(sheets_at(car, place.track, place.surface), A_PAGE, before)
        there = with_runs(car, page)
        words = fastest_words(fastest_of(car, there), there)
        return Response(s.BackToTrackSerializer(_answer(places, place, there, words, more)).data)


def _answer(
    places: list[Place], place: Place | None, there: list[SetThere], fastest: str, more: Any
) -> dict[str, Any]:
    return {
        "places": [_place(each) for each in places],
        "place": _place(place) if place else None,
        "sheets": [
            {
                "sheet": each.sheet.pk,
                "made_on": each.sheet.made_on,
                "driver": each.sheet.driver_id,
                "runs": [run.run.pk for run in each.runs],
                "finishes": [run.details.finish for run in each.raced],
                "median_s": each.middle,
                "best_s": each.best,
            }
            for each in there
        ],
        "fastest": fastest,
        "next": more,
    }


def _place(place: Place) -> dict[str, Any]:
    return {
        "track": place.track.pk,
        "surface": place.surface,
        "sheets": place.sheets,
        "last": place.last,
    }


class WayBackView(APIView):
    """From the car as it stands to one of these sheets."""

    @extend_schema(responses=s.WayBackSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """What to turn, swap and add, in the order of work and the reader's units. A prediction:
        weigh and measure again. 404 of a sheet that is open, as found, or of a car that went on."""
        sheet, by = set_sheet_or_404(request, pk), asking(request)
        shown = show_way_back(way_back(sheet.car, sheet, by), by.units(sheet.team.club.units()))
        return Response(s.WayBackSerializer(shown).data)
