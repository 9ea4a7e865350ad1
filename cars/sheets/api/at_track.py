"""The API of what was changed at the track before a car was found."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.api_base import QuantitySerializer, quantity_json
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, catalogue
from cars.lookups import sheet_or_404
from cars.models import TrackChange
from cars.models.catalogue import Taken
from cars.sheets.queries.at_track import ChangedAtTrack, changed_before, figures_at_track
from clubsetup.access.api.me import asking


class ChangedThereSerializer(serializers.ModelSerializer[TrackChange]):
    """A change that stood when the car was found."""

    class Meta:
        model = TrackChange
        fields = ("id", "adjuster", "spot", "amount", "unit", "made_at", "by")


class FigureThereSerializer(serializers.Serializer[Any]):
    """A figure of the sheet as set that was changed or read again since."""

    box = serializers.CharField(help_text="As in ride-height.LF, cross.car.")
    quantity = QuantitySerializer(
        allow_null=True, help_text="What it should read; null where nothing but reading it tells."
    )


class ChangedAtTrackSerializer(serializers.Serializer[Any]):
    """What a sheet as found comes after; of other sheets, and where nothing was done, empty."""

    since = serializers.UUIDField(allow_null=True, help_text="The sheet as set that it stood on.")
    changes = ChangedThereSerializer(many=True, help_text="In the order they were made.")
    again = serializers.ListField(
        child=serializers.CharField(), help_text="Boxes that one of them calls for again."
    )
    figures = FigureThereSerializer(many=True)


class SheetAtTrack(APIView):
    """What was changed at the track before a car was found."""

    @extend_schema(responses=ChangedAtTrackSerializer)
    def get(self, request: Request, pk: UUID) -> Response:
        """The changes that stood, what they touched, and what it should read by them."""
        changed = changed_before(sheet_or_404(request, pk))
        told: dict[str, Any] = {"since": None, "changes": [], "again": [], "figures": []}
        if changed is not None:
            now = figures_at_track(changed.since, asking(request), changed.until)
            known = catalogue()
            told = {
                "since": changed.since.pk,
                "changes": changed.changes,
                "again": _again(changed, known),
                "figures": [
                    {
                        "box": str(key),
                        "quantity": quantity_json(
                            figure.value, known.measures[key.measure].kind, ""
                        )
                        if figure
                        else None,
                    }
                    for key, figure in sorted(now.items(), key=lambda each: str(each[0]))
                ],
            }
        return Response(ChangedAtTrackSerializer(told).data)


def _again(changed: ChangedAtTrack, known: Catalogue) -> list[str]:
    return [
        str(key)
        for measure in known.measures.values()
        if measure.taken != Taken.DERIVED
        for key in (Key(measure.pk, spot) for spot in measure.spots)
        if changed.touches(key, known)
    ]
