"""The air at a track, noted by hand."""

from datetime import datetime
from decimal import Decimal
from uuid import UUID

from cars.mechanics import BadInput
from cars.mechanics.air import density
from cars.models import Weather
from cars.runs.actions.at_track import time_at_track
from cars.runs.queries.air import pressure_of_place
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Team, Track
from teams.permissions import check_can_write_sheets

# What the formula of the air's density is stated for.
CANNOT_BE = {
    "temperature": "The air at a track is between -10 and 50 °C (14 and 122 °F).",
    "pressure": "The pressure of a place is between 600 and 1100 hPa (18 and 32 inHg).",
    "altitude": "A track lies between 1,000 m under the sea and 11,000 m above.",
}


@action
def note_weather(
    *,
    by: User,
    team: Team,
    temperature: Decimal,
    humidity: Decimal,
    pressure: Decimal,
    pressure_of: str,
    altitude: Decimal | None = None,
    track: Track | None = None,
    noted_at: datetime | None = None,
    weather_id: UUID | None = None,
) -> Weather:
    """Degree C, percent, hPa and mm. A forecast's pressure needs the altitude of the track."""
    check_can_write_sheets(by, team)
    weather = Weather(
        pk=weather_id or new_id(),
        team=team,
        track=track,
        noted_at=time_at_track("noted_at", noted_at),
        temperature=temperature,
        humidity=humidity,
        pressure=pressure,
        pressure_of=pressure_of,
        altitude=altitude,
        by=by,
    )
    _check(weather)
    weather.save(force_insert=True)
    record(by=by, did="noted", on=weather, team_id=team.pk)
    return weather


def _check(weather: Weather) -> None:
    if not 0 <= weather.humidity <= 100:
        raise Invalid("humidity", "Humidity is from 0 to 100 %.")
    if weather.pressure_of not in Weather.PressureOf.values:
        raise Invalid("pressure_of", "Say whether it is the pressure of the place or a forecast's.")
    if weather.pressure_of == Weather.PressureOf.SEA_LEVEL and weather.altitude is None:
        raise Invalid(
            "altitude", "A forecast's pressure is reduced to sea level: write the track's altitude."
        )
    try:
        density(
            float(weather.temperature), pressure_of_place(weather), float(weather.humidity) / 100
        )
    except BadInput as refused:
        field = refused.quantity if refused.quantity in CANNOT_BE else "pressure"
        raise Invalid(field, f"This cannot be right. {CANNOT_BE[field]}") from refused
