"""The API of what is done to a car at the track, and of the car as it stands."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.api_base import Listed, quantity_json
from cars.catalogue.keys import Key
from cars.figures.box_entries import BoxEntry
from cars.figures.derived import Figure
from cars.lookups import car_or_404
from cars.models import Car, TrackChange, TrackReading
from cars.permissions import check_can_open_sheet
from cars.runs.actions.at_track import set_sheet_of
from cars.runs.actions.track_changes import note_track_change, put_back, take_back_track_change
from cars.runs.actions.track_readings import take_track_readings
from cars.runs.api import track_serializers as s
from cars.runs.queries.car_now import CarNow, Expected, car_now
from cars.sheets.api.box_entries import entries_of
from clubsetup.access.api.idempotency import answers_once, by_id, made_once
from clubsetup.access.api.me import asking
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.quantities.reading import Typed
from teams.api.base import ListsOfTeams, NotesReaders

NO_SHEET = OpenApiResponse(
    description="No sheet says how the car was set, or what was to be put back is put back."
)


def _sent(kind: Any, request: Request) -> dict[str, Any]:
    given = kind(data=request.data)
    given.is_valid(raise_exception=True)
    return dict(given.validated_data)


def _written_car(request: Request, pk: UUID) -> Car:
    """The car, for whoever may write its sheets."""
    car = car_or_404(request, pk)
    check_can_open_sheet(asking(request), car)
    return car


class TrackChanges(ListsOfTeams, NotesReaders, Listed):
    """What was turned, moved or swapped at the track. Noted under its car."""

    queryset = TrackChange.objects.select_related("sheet__team").order_by("-id")
    serializer_class = s.TrackChangeSerializer
    filterset_fields = {
        "sheet": ["exact"],
        "sheet__car": ["exact"],
        "adjuster": ["exact"],
        "taken_back_at": ["isnull"],
    }
    http_method_names = ("get", "head", "options", "post")

    @extend_schema(
        request=None,
        responses={
            200: s.TrackChangeSerializer,
            409: OpenApiResponse(description="It is taken back already, or was put back since."),
        },
    )
    @action(detail=True, methods=["post"], url_path="take-back")
    def take_back(self, *_: Any, **__: Any) -> Response:
        """It was never made."""
        done = take_back_track_change(by=self.by, change=self.get_object())
        return Response(s.TrackChangeSerializer(done).data)


class TrackReadings(ListsOfTeams, NotesReaders, Listed):
    """What was read off cars at the track. Taken under the car."""

    queryset = TrackReading.objects.select_related("measure").order_by("-id")
    serializer_class = s.TrackReadingSerializer
    filterset_fields = {
        "sheet": ["exact"],
        "sheet__car": ["exact"],
        "measure": ["exact"],
        "spot": ["exact"],
        "replaced_at": ["isnull"],
    }


class CarTrackChanges(APIView):
    """What is changed on a car at the track."""

    @extend_schema(
        request=s.TrackChangeCreateSerializer, responses=answers_once(s.TrackChangeSerializer)
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Notes a change on the car as its newest sheet as set has it; that sheet stays."""
        car = _written_car(request, pk)
        given = _sent(s.TrackChangeCreateSerializer, request)

        def make(chosen: UUID) -> TrackChange:
            sheet = set_sheet_of(car)
            return note_track_change(by=asking(request), sheet=sheet, change_id=chosen, **given)

        row, code = made_once(request, given.pop("id", None), make, by_id(TrackChange))
        return Response(s.TrackChangeSerializer(row).data, code)


class CarPutBack(APIView):
    """Changes at the track, put back."""

    @extend_schema(
        request=s.PutBackSerializer,
        responses={200: s.TrackChangeSerializer(many=True), 409: NO_SHEET},
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Turns changes that stand the other way, the last first; answers with the changes made."""
        car = _written_car(request, pk)
        given = _sent(s.PutBackSerializer, request)
        back = put_back(by=asking(request), sheet=set_sheet_of(car), changes=given["changes"])
        return Response(s.TrackChangeSerializer(back, many=True).data)


class CarTrackReadings(APIView):
    """What is read off a car at the track."""

    @extend_schema(
        request=s.TrackEntriesSerializer,
        responses=answers_once(s.TrackReadingSerializer(many=True)),
    )
    def post(self, request: Request, pk: UUID) -> Response:
        """Takes figures read again between two runs; the sheet as set stays.

        With an id on each, the same sent twice is taken once.
        """
        car, by = _written_car(request, pk), asking(request)
        given = _sent(s.TrackEntriesSerializer, request)
        sent = _ids_sent(given["readings"])
        ids = sent or [new_id() for _ in given["readings"]]

        def make(_: UUID) -> TrackReading:
            read = [{**one, "take": 1, "taken_at": None} for one in given["readings"]]
            figures = _figures(entries_of(read, by.units(car.team.club.units())))
            return take_track_readings(
                by=by,
                sheet=set_sheet_of(car),
                readings=figures,
                taken_at=given["taken_at"],
                ids=dict(zip(figures, ids, strict=True)),
            )[0]

        _, code = made_once(request, ids[0] if sent else None, make, by_id(TrackReading))
        rows = TrackReading.objects.select_related("measure").in_bulk(ids)
        return Response(s.TrackReadingSerializer([rows[pk] for pk in ids], many=True).data, code)


def _ids_sent(readings: list[dict[str, Any]]) -> list[UUID]:
    """Their ids; none where none has one."""
    ids = [one["id"] for one in readings if "id" in one]
    if ids and len(set(ids)) < len(readings):
        raise Invalid("readings", "Give each reading an id of its own, or none of them one.")
    return ids


def _figures(entries: list[BoxEntry]) -> Mapping[Key, Typed]:
    """What was read in each box, in the order it was sent."""
    figures: dict[Key, Typed] = {}
    for place, entry in enumerate(entries):
        if entry.quantity is None:
            raise Invalid(f"readings/{place}/measure", "This is no figure that is read off a car.")
        if entry.key in figures:
            raise Invalid(f"readings/{place}/spot", "This box is in what you sent already.")
        figures[entry.key] = entry.quantity
    return figures


class CarNowView(APIView):
    """The car as it stands."""

    @extend_schema(responses=s.CarNowSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """The newest sheet as set, what was changed since, and what the figures should be now."""
        now = car_now(car_or_404(request, pk), asking(request))
        return Response(s.CarNowSerializer(_now_json(now)).data)


def _now_json(now: CarNow | None) -> dict[str, Any]:
    if now is None:
        none: list[Any] = []
        return {
            **{"sheet": None, "changes": none, "expected": none, "read": none, "due": none},
            "trouble": "",
        }
    standing = {change.pk for change in now.standing}
    for change in now.changes:
        change.stands = change.pk in standing  # type: ignore[attr-defined]
    return {
        "sheet": now.sheet.pk,
        "changes": now.changes,
        "expected": [
            {**_figure_json(now, key, one), "was": _quantity(now, key, one.was)}
            for key, one in now.expected.items()
        ],
        "read": [_figure_json(now, key, figure) for key, figure in now.read.items()],
        "due": [str(key) for key in now.due],
        "trouble": now.trouble,
    }


def _figure_json(now: CarNow, key: Key, figure: Expected | Figure) -> dict[str, Any]:
    quantity, u = _quantity(now, key, figure.value), f"{figure.u.normalize():f}"
    return {"box": str(key), "quantity": quantity, "u": u}


def _quantity(now: CarNow, key: Key, value: Decimal) -> dict[str, str] | None:
    return quantity_json(value, now.table.on_sheet.known.measures[key.measure].kind, "")
