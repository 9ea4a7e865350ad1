"""The API of a car's history."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from cars.history.queries.car_history import (
    Aim,
    DaySheet,
    Happened,
    car_history,
    keys_asked,
    season_asked,
    seasons_of,
    years_asked_of,
)
from cars.history.queries.laps_by_track import Night, cars_driven, nights_of, nights_of_driver
from cars.lookups import car_or_404
from clubsetup.access.api.me import asking
from teams.lookups import read_or_404
from teams.models import Driver
from teams.queries.clocks import today_of


class HistoryFigureSerializer(serializers.Serializer[object]):
    """A figure of one sheet, canonical, with its target of that time."""

    measure = serializers.CharField(help_text="The box: 'cross.car'.")
    value = serializers.FloatField(allow_null=True)
    target = serializers.FloatField(allow_null=True)
    tolerance = serializers.FloatField(allow_null=True)


class HistorySheetSerializer(serializers.Serializer[object]):
    """A closed sheet."""

    sheet = serializers.UUIDField()
    role = serializers.CharField()
    made_on = serializers.DateField()
    track = serializers.CharField()
    surface = serializers.CharField()
    figures = HistoryFigureSerializer(many=True)


class HappenedSerializer(serializers.Serializer[object]):
    """A part swapped, a baseline replaced, damage, a change at the track, an event."""

    day = serializers.DateField()
    kind = serializers.CharField()
    what = serializers.CharField()
    spot = serializers.CharField()
    was = serializers.CharField()
    sheet = serializers.UUIDField(allow_null=True)
    run = serializers.UUIDField(allow_null=True)
    event = serializers.UUIDField(allow_null=True)


class NightSerializer(serializers.Serializer[object]):
    """A night at a track: how often it ran, and the median of the medians of its runs."""

    day = serializers.DateField()
    track = serializers.CharField()
    surface = serializers.CharField()
    runs = serializers.IntegerField()
    laps = serializers.IntegerField()
    median_s = serializers.FloatField(allow_null=True)
    density_altitude_m = serializers.FloatField(
        allow_null=True, help_text="Of the last weather noted."
    )
    run_ids = serializers.ListField(child=serializers.UUIDField(), help_text="In their order.")


class CarHistorySerializer(serializers.Serializer[object]):
    """A car over its seasons."""

    seasons = serializers.ListField(child=serializers.IntegerField(), help_text="Newest first.")
    sheets = HistorySheetSerializer(many=True)
    happened = HappenedSerializer(many=True)
    nights = NightSerializer(many=True)


class CarHistoryView(APIView):
    """Figures, what happened, and nights, oldest first."""

    @extend_schema(
        parameters=[
            OpenApiParameter("measure", str, many=True, description="One box or two."),
            OpenApiParameter(
                "season", str, description="A year of `seasons`, or all; else the newest."
            ),
        ],
        responses=CarHistorySerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """A car in one season: one or two measures of its closed sheets with their targets."""
        car, asked = car_or_404(request, pk), request.query_params
        keys, seasons = keys_asked(asked.getlist("measure")), seasons_of(car)
        season = season_asked(asked.get("season", ""), seasons)
        if "season" not in asked and seasons:
            season = seasons[0]
        history = car_history(car, keys, season)
        answer = {
            "seasons": seasons,
            "sheets": [_sheet(sheet, history.keys, history.aims) for sheet in history.sheets],
            "happened": [_happened(one) for one in history.happened],
            "nights": [_night(night) for night in nights_of(car, season)],
        }
        return Response(CarHistorySerializer(answer).data)


class CarDrivenSerializer(serializers.Serializer[object]):
    """A car that the driver drove."""

    car = serializers.UUIDField()
    number = serializers.CharField()
    race_class = serializers.CharField(help_text="Empty where the car has none.")
    runs = serializers.IntegerField()


class DriverSeasonsSerializer(serializers.Serializer[object]):
    """One driver across cars and classes."""

    driver = serializers.UUIDField()
    season = serializers.IntegerField(allow_null=True, help_text="null of all of them.")
    cars = CarDrivenSerializer(many=True, help_text="The most driven first.")
    nights = NightSerializer(many=True, help_text="The oldest first.")


class DriverSeasonsView(APIView):
    """What the page of a driver's seasons shows; for the team and its linked coach."""

    @extend_schema(
        parameters=[OpenApiParameter("season", str, description="A year, or all; else all.")],
        responses=DriverSeasonsSerializer,
    )
    def get(self, request: Request, pk: UUID) -> Response:
        """A driver's nights at the tracks, on whichever car of the team."""
        by = asking(request)
        driver = read_or_404(by, Driver.objects.all(), pk)
        years = years_asked_of(today_of(by).year)
        season = season_asked(request.query_params.get("season", ""), years)
        nights = nights_of_driver(driver, season)
        answer = {
            "driver": driver.pk,
            "season": season,
            "cars": [
                {"car": car, "number": number, "race_class": race_class, "runs": runs}
                for car, number, race_class, runs in cars_driven(nights)
            ],
            "nights": [_night(night) for night in nights],
        }
        return Response(DriverSeasonsSerializer(answer).data)


def _sheet(sheet: DaySheet, keys: Any, aims: Any) -> dict[str, Any]:
    figures = []
    for key, value in zip(keys, sheet.values, strict=True):
        aim: Aim | None = aims[key].get(sheet.pk)
        target, tolerance = aim or (None, None)
        figures.append(
            {"measure": str(key), "value": value, "target": target, "tolerance": tolerance}
        )
    names = ("role", "made_on", "track", "surface")
    return {"sheet": sheet.pk, **{n: getattr(sheet, n) for n in names}, "figures": figures}


def _happened(one: Happened) -> dict[str, Any]:
    names = ("day", "kind", "spot", "was", "sheet", "run")
    changed = ", ".join(
        f"{each.adjuster} {each.spot} {each.amount.normalize():f} {each.unit}"
        for each in one.changed
    )
    return {
        **{name: getattr(one, name) for name in names},
        "what": changed or one.what,
        "event": one.event and one.event.event,
    }


def _night(night: Night) -> dict[str, Any]:
    return {
        "day": night.day,
        "track": night.track,
        "surface": night.surface,
        "runs": len(night.runs),
        "laps": night.laps,
        "median_s": night.middle,
        "density_altitude_m": night.density_altitude,
        "run_ids": [run.pk for run in night.runs],
    }
