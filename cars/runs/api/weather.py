"""The API of the weather at a track."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import (
    OpenApiResponse,
    extend_schema,
    extend_schema_field,
    extend_schema_view,
)
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from cars.api_base import InClubUnits, Listed, QuantitySerializer, perhaps, quantity_json
from cars.models import Weather
from cars.runs.actions.weather import NO_UNIT, correct_weather, note_weather
from cars.runs.queries.air import air_of
from clubsetup.access.api.creating import CreateOnceSerializer, creates
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.spelling import has_unit
from clubsetup.site.api_fields import TypedQuantity
from teams.api.base import ListsOfTeams, NotesReaders
from teams.api.serializers import row
from teams.models import Team, Track

HPA = 10  # a kilopascal
PRESSURES_OF = Weather.PressureOf.choices


class AirSerializer(serializers.Serializer[Any]):
    """What the weather comes to for an engine."""

    density = serializers.FloatField(help_text="kg/m³, by the CIPM-2007 formula.")
    density_altitude = serializers.FloatField(
        help_text="The altitude in the standard atmosphere that has this density, m."
    )


class WeatherSerializer(serializers.ModelSerializer[Weather]):
    """The air at a track at one time; of what was typed no text is kept."""

    temperature = TypedQuantity(kind=Kind.TEMPERATURE, read_only=True)
    humidity = serializers.SerializerMethodField(help_text="Relative.")
    pressure = serializers.SerializerMethodField(help_text="As `pressure_of` says.")
    altitude = TypedQuantity(kind=Kind.LENGTH, read_only=True, allow_null=True)
    air = serializers.SerializerMethodField()

    class Meta:
        model = Weather
        fields = (
            *("id", "team", "track", "noted_at", "temperature", "humidity", "pressure"),
            *("pressure_of", "altitude", "air", "by", "created_at", "replaced_at", "replaced_by"),
        )

    @extend_schema_field(QuantitySerializer)
    def get_humidity(self, weather: Weather) -> dict[str, str] | None:
        """Percent."""
        return quantity_json(weather.humidity, Kind.PERCENT, "")

    @extend_schema_field(QuantitySerializer)
    def get_pressure(self, weather: Weather) -> dict[str, str] | None:
        """Kilopascals, as every pressure here."""
        return quantity_json(weather.pressure / HPA, Kind.PRESSURE, "")

    @extend_schema_field(AirSerializer)
    def get_air(self, weather: Weather) -> Any:
        """Worked out anew each time."""
        return AirSerializer(air_of(weather)).data


class WeatherFiguresSerializer(serializers.Serializer[Any]):
    """What a device or a forecast says of the air."""

    temperature = TypedQuantity(kind=Kind.TEMPERATURE, limits=bounds.AIR)
    humidity = TypedQuantity(kind=Kind.PERCENT, limits=bounds.HUMIDITY)
    pressure = TypedQuantity(kind=Kind.PRESSURE, limits=bounds.AIR_PRESSURE)
    pressure_of = serializers.ChoiceField(
        PRESSURES_OF, help_text="A forecast's is reduced to sea level, and needs the altitude."
    )
    altitude = TypedQuantity(
        kind=Kind.LENGTH, limits=bounds.ALTITUDE, required=False, allow_null=True, default=None
    )

    def validate_altitude(self, altitude: Typed | None) -> Typed | None:
        """With a unit: a bare number would be one of a car's."""
        if altitude is not None and altitude.value and not has_unit(altitude.text):
            raise serializers.ValidationError(NO_UNIT)
        return altitude


class WeatherCreateSerializer(CreateOnceSerializer, WeatherFiguresSerializer):
    """The air at a track, noted by hand."""

    team = row(Team)
    track = perhaps(Track)
    noted_at = serializers.DateTimeField(
        required=False, allow_null=True, default=None, help_text="If not now."
    )


@extend_schema_view(create=creates(WeatherSerializer, WeatherCreateSerializer))
class WeatherNotes(ListsOfTeams, NotesReaders, InClubUnits, Listed):
    """The weather that one's teams and those one coaches noted."""

    queryset = Weather.objects.select_related("team__club").order_by("-id")
    serializer_class = WeatherSerializer
    create_serializer_class = WeatherCreateSerializer
    filterset_fields = {"team": ["exact"], "track": ["exact"], "replaced_at": ["isnull"]}

    def make(self, *, row_id: UUID, **given: Any) -> Weather:
        """Notes it."""
        return note_weather(by=self.by, weather_id=row_id, **_as_kept(given))

    @extend_schema(
        request=WeatherFiguresSerializer,
        responses={200: WeatherSerializer, 409: OpenApiResponse(description="Corrected before.")},
    )
    @action(detail=True, methods=["put"])
    def correct(self, *_: Any, **__: Any) -> Response:
        """The same air noted rightly: a new row, on which the runs rest that rested on this one."""
        weather = self.get_object()
        units = self.by.units(weather.team.club.units())
        given = WeatherFiguresSerializer(data=self.request.data, context={"units": units})
        given.is_valid(raise_exception=True)
        right = correct_weather(by=self.by, weather=weather, **_as_kept(given.validated_data))
        return Response(WeatherSerializer(right).data)


def _as_kept(given: dict[str, Any]) -> dict[str, Any]:
    """The figures as the columns keep them, so that what is answered is what is kept."""
    figures = ("temperature", "humidity", "pressure", "altitude")
    values: dict[str, Any] = {name: given[name].value if given[name] else None for name in figures}
    values["pressure"] = round(values["pressure"] * HPA, 2)
    values["humidity"] = round(values["humidity"], 2)
    return {**given, **values}
