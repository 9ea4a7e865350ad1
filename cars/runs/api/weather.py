"""The API of the weather at a track."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema_field, extend_schema_view
from rest_framework import serializers

from cars.api_base import InClubUnits, Listed, QuantitySerializer, perhaps, quantity_json
from cars.models import Weather
from cars.runs.actions.weather import note_weather
from cars.runs.queries.air import air_of
from clubsetup.access.api.creating import CreateOnceSerializer, creates
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
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


class WeatherCreateSerializer(CreateOnceSerializer):
    """The air at a track, noted by hand."""

    team = row(Team)
    track = perhaps(Track)
    noted_at = serializers.DateTimeField(
        required=False, allow_null=True, default=None, help_text="If not now."
    )
    temperature = TypedQuantity(kind=Kind.TEMPERATURE, limits=bounds.AIR)
    humidity = TypedQuantity(kind=Kind.PERCENT, limits=bounds.HUMIDITY)
    pressure = TypedQuantity(kind=Kind.PRESSURE, limits=bounds.AIR_PRESSURE)
    pressure_of = serializers.ChoiceField(
        PRESSURES_OF, help_text="A forecast's is reduced to sea level, and needs the altitude."
    )
    altitude = TypedQuantity(
        kind=Kind.LENGTH, limits=bounds.ALTITUDE, required=False, allow_null=True, default=None
    )


@extend_schema_view(create=creates(WeatherSerializer, WeatherCreateSerializer))
class WeatherNotes(ListsOfTeams, NotesReaders, InClubUnits, Listed):
    """The weather that one's teams and those one coaches noted."""

    queryset = Weather.objects.order_by("-id")
    serializer_class = WeatherSerializer
    create_serializer_class = WeatherCreateSerializer
    filterset_fields = {"team": ["exact"], "track": ["exact"], "replaced_at": ["isnull"]}

    def make(self, *, row_id: UUID, **given: Any) -> Weather:
        """Notes it."""
        figures = ("temperature", "humidity", "pressure", "altitude")
        typed: dict[str, Any] = {name: given.pop(name) for name in figures}
        values: dict[str, Any] = {name: one.value if one else None for name, one in typed.items()}
        values["pressure"] = _hundredths(values["pressure"] * HPA)
        values["humidity"] = _hundredths(values["humidity"])
        return note_weather(by=self.by, weather_id=row_id, **values, **given)


def _hundredths(value: Decimal) -> Decimal:
    """As the column keeps it, so that what is answered is what is kept."""
    return round(value, 2)
